// Package post turns a finished job into files. This root holds what every
// output is given; each output is a package of its own below.
package post

import (
	"fmt"
	"slices"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// Set is one finished job: everything an output may show.
type Set struct {
	Version  string // of the tool
	Job      job.Job
	Table    layout.Table
	Marks    []layout.Mark
	Machine  machine.Profile
	Material machine.Material
	Jig      jig.Jig
	Sheets   []Sheet
	Checks   []jig.Check        // all of them: layout's, the jig's, the proofs'
	Cautions []string           // those that belong to this job, most serious first
	Tape     []layout.TapePlace // the tape card, in marking-out order

	// Where several jobs share sheets, the job's letter, which begins the names of its
	// pieces and files, and the other jobs' pieces on its sheets; else nothing.
	Letter string
	Others []jig.Part
}

// Sheet is one sheet with its toolpath and what the dry run found.
type Sheet struct {
	nest.Sheet
	Path      path.Toolpath // empty when Machine.Process is machine.Shop
	Bounds    geom.Box      // sheet frame, as the re-read program gives them
	CutLen    float64       // mm
	TravelLen float64       // mm
	Time      float64       // s, estimated
	BeamOn    float64       // s, estimated
	Laps      []float64     // s, estimated: travel to an operation and the operation, in turn
}

// Took returns how long the travel to the i-th operation and the operation take, s; 0 where
// that is not known.
func (s Sheet) Took(i int) (travel, work float64) {
	if 2*i+1 >= len(s.Laps) {
		return 0, 0
	}
	return s.Laps[2*i], s.Laps[2*i+1]
}

// AtOnce reports whether a shop is sent the whole in one order.
func (s Set) AtOnce() bool { return s.Machine.Process == machine.Shop && !s.Material.InSteps() }

// Held reports whether the i-th sheet waits for a measured thickness. A shop is sent
// drawings in two steps: fins and plates with fin slots only when they are drawn for
// the thickness of the sheet they are cut from.
func (s Set) Held(i int) bool {
	if s.Machine.Process != machine.Shop || s.Material.Measured {
		return false
	}
	return s.waited(i)
}

// Ordered reports whether the i-th sheet was ordered in the first of two steps: it is not
// ordered again, and everything on it lies where it lay then.
func (s Set) Ordered(i int) bool {
	return s.Machine.Process == machine.Shop && s.Material.Measured && s.Material.InSteps() && !s.waited(i)
}

// waited reports whether something on the i-th sheet follows the sheet's thickness.
func (s Set) waited(i int) bool {
	return slices.ContainsFunc(s.Sheets[i].Placed, func(on nest.Placed) bool {
		p, ok := s.Part(on.ID)
		return ok && p.FitsThickness()
	})
}

// offcutMin is the shorter side of an off-cut worth putting by, mm: common practice.
const offcutMin = 100

// Offcut is the largest rectangle that can be cut off the i-th sheet and put by, mm; 0
// when it is not worth it.
func (s Set) Offcut(i int) (width, height float64) {
	var items []nest.Item
	for _, on := range s.Sheets[i].Placed {
		if p, ok := s.Part(on.ID); ok {
			items = append(items, nest.Item{ID: p.ID, Outline: p.AtCutSize(p.Outline)})
		}
	}
	width, height = s.Sheets[i].Sheet.Offcut(items, jig.RoomFor(s.Machine, s.Material).Edge)
	if min(width, height) < offcutMin {
		return 0, 0
	}
	return width, height
}

// Pieces returns all that lies on the sheets: the jig's parts, then other jobs'.
func (s Set) Pieces() []jig.Part { return slices.Concat(s.Jig.Parts, s.Others) }

// SharedWith says that other jobs' pieces lie on the job's sheets; "" when none does.
func (s Set) SharedWith() string {
	if s.Letter == "" {
		return ""
	}
	return fmt.Sprintf("The sheets are shared with other jobs: cut each once, whichever job is first. This job's pieces and files begin with %s; jobs.yaml names all jobs. Sheets, time and cost are those of whole sheets.", s.Letter)
}

// FileName is what a file of the job's own is called beside those of other jobs.
func (s Set) FileName(name string) string {
	if s.Letter == "" {
		return name
	}
	return strings.ToLower(s.Letter) + "-" + name
}

// Templates lists the templates in the order of their first piece.
func (s Set) Templates() []string {
	var out []string
	for _, p := range s.Jig.Parts {
		if p.Template != "" && !slices.Contains(out, p.Template) {
			out = append(out, p.Template)
		}
	}
	return out
}

// Served returns the marks that the templates have openings for, a gauge's not counted.
func (s Set) Served(templates ...string) []layout.Mark {
	has := map[string]bool{}
	for _, p := range s.Jig.Parts {
		if p.Role == jig.GaugePlate || !slices.Contains(templates, p.Template) {
			continue
		}
		for _, o := range p.Openings {
			has[o.Mark], has[o.Far] = true, true
		}
	}
	return slices.DeleteFunc(slices.Clone(s.Marks), func(m layout.Mark) bool { return !has[m.ID] })
}

// Called is a mark's name by its id, the id where there is no such mark.
func (s Set) Called(id string) string {
	for _, m := range s.Marks {
		if m.ID == id {
			return m.Name
		}
	}
	return id
}

// Tally is how many checks came to each verdict.
func (s Set) Tally() map[jig.Verdict]int {
	n := map[jig.Verdict]int{}
	for _, c := range s.Checks {
		n[c.Verdict]++
	}
	return n
}

// Says is the text of a check, "" when it was not made.
func (s Set) Says(check string) string {
	for _, c := range s.Checks {
		if c.ID == check {
			return c.Text
		}
	}
	return ""
}

// Part returns the piece on the sheets with the id; ok is false when there is none.
func (s Set) Part(id string) (p jig.Part, ok bool) {
	for _, parts := range [2][]jig.Part{s.Jig.Parts, s.Others} {
		for _, p := range parts {
			if p.ID == id {
				return p, true
			}
		}
	}
	return jig.Part{}, false
}
