package view

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
)

// pocketed reports whether the table has pockets to draw: every game but those
// of the carom family plays into them. A job without games is drawn with them.
func (sc *scene) pocketed() bool {
	for _, g := range sc.set.Job.Games {
		if g != "carom" && !strings.HasPrefix(g, "balkline") {
			return true
		}
	}
	return len(sc.set.Job.Games) == 0
}

// rack is one game's balls as set up, table frame.
type rack struct {
	class, name string
	red, other  []geom.Point
}

// racks sets the job's balls up on its marks: snooker's reds behind the pink as
// close as can be without touching, with a colour on each spot; pool's fifteen
// with the first on the foot spot. Rows of a tight triangle lie d·√3/2 apart.
func racks(set post.Set) []rack {
	d := set.Job.Balls.Diameter
	if d <= 0 {
		return nil
	}
	var out []rack
	pink, isPink := markNamed(set, "pink")
	black, isBlack := markNamed(set, "black")
	if isPink && isBlack {
		r := rack{class: "snooker", name: "snooker"}
		dir := black.Sub(pink).Unit()
		r.red = triangle(pink.Add(dir.Scale(d)), dir.Scale(d), set.Job.Balls.Reds)
		for _, id := range []string{"yellow", "green", "brown", "blue", "pink", "black"} {
			if p, ok := markNamed(set, id); ok {
				r.other = append(r.other, p)
			}
		}
		out = append(out, r)
	}
	foot, isFoot := markNamed(set, "foot-spot")
	if isFoot {
		dir := geom.Vec{X: 1}
		if c, ok := markNamed(set, "centre-spot"); ok && c.Dist(foot) > d {
			dir = foot.Sub(c).Unit()
		}
		out = append(out, rack{class: "pool", name: "pool", other: triangle(foot, dir.Scale(d), 15)})
	}
	return out
}

// triangle returns the centres of n balls in rows that widen along the step,
// which is one ball long; the last row may be short.
func triangle(apex geom.Point, step geom.Vec, n int) []geom.Point {
	var out []geom.Point
	for row := 0; len(out) < n; row++ {
		for i := 0; i <= row && len(out) < n; i++ {
			across := float64(i) - float64(row)/2
			out = append(out, apex.Add(step.Scale(float64(row)*math.Sqrt(3)/2)).Add(step.Left().Scale(across)))
		}
	}
	return out
}

// markNamed returns the place of the spot that has the id or answers to it.
func markNamed(set post.Set, id string) (geom.Point, bool) {
	for _, m := range set.Marks {
		if m.Kind != layout.Spot {
			continue
		}
		for _, name := range append([]string{m.ID}, m.Also...) {
			if name == id {
				return geom.Point{X: m.X, Y: m.Y}, true
			}
		}
	}
	return geom.Point{}, false
}

// writeBalls stores each game's balls at their true size.
func (sc *scene) writeBalls(b *bytes.Buffer) {
	r := num(sc.set.Job.Balls.Diameter/2, fine)
	for _, k := range sc.racks {
		fmt.Fprintf(b, `<g id="s-%s">`, k.class)
		for _, p := range k.red {
			fmt.Fprintf(b, `<circle class="ball red" cx="%s" cy="%s" r="%s"/>`, num(p.X, fine), num(p.Y, fine), r)
		}
		for _, p := range k.other {
			fmt.Fprintf(b, `<circle class="ball" cx="%s" cy="%s" r="%s"/>`, num(p.X, fine), num(p.Y, fine), r)
		}
		b.WriteString("</g>\n")
	}
}
