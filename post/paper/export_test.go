package paper

import (
	"spotjig/layout/geom"
	"spotjig/post"
)

// ProofPage is a page of a proof, as a test needs to know it.
type ProofPage struct {
	Number int    // in the PDF, from 1
	Group  string // letter
	Table  bool
	At, To geom.Point // the lattice cell, group frame
	win    window
}

// OnPage carries a group point to the page, mm from the upper left.
func (p ProofPage) OnPage(q geom.Point) geom.Point { return p.win.to(q) }

// ProofPages returns the pages that WriteProof writes, maps left out.
func ProofPages(set post.Set, opt Options) []ProofPage {
	size, _ := opt.size()
	groups := templateGroups(set, size)
	if opt.Of == "marks" {
		groups = []group{markGroup(set)}
	}
	maps := 0
	for i := range groups {
		groups[i] = groups[i].laid(size)
		if len(groups[i].cells) > 0 {
			maps++
		}
	}
	var out []ProofPage
	w, h := size.leaf()
	for _, g := range groups {
		for _, c := range g.cells {
			at := g.corner(c, size)
			out = append(out, ProofPage{Number: maps + len(out) + 1, Group: g.letter, Table: g.table, At: at, To: at.Add(geom.Vec{X: w, Y: h}), win: g.window(c, size)})
		}
	}
	return out
}

// FirstFigure carries a table point to the picture on the job sheet's first page.
func FirstFigure(set post.Set, opt Options) func(geom.Point) geom.Point {
	size, _ := opt.size()
	t := newSheaf(set, size, "Job sheet")
	t.page()
	t.title(set)
	h := figureHeight(set, t.width())
	w := fitWindow(pictureBox(set), geom.Box{Min: geom.Point{X: t.margin, Y: t.y}, Max: geom.Point{X: t.margin + t.width(), Y: t.y + h}})
	return w.to
}
