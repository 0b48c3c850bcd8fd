package layout

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/screen"
)

// WriteMarks prints a plan for people: every mark, then the choices,
// then what to look out for.
func WriteMarks(w io.Writer, p Plan, look screen.Look) error {
	var b strings.Builder
	rows := [][]string{{"mark", "from the head nose", "from the foot nose", "across", "tape: along, across"}}
	for _, m := range p.Marks {
		across := m.Across
		if m.Kind == Arc {
			across += ", radius " + figure.Length(m.Radius)
		}
		rows = append(rows, []string{m.Name, strings.TrimSuffix(m.FromHead, " from the head nose"),
			strings.TrimSuffix(m.FromFoot, " from the foot nose"), across, m.tape()})
	}
	table := laidOut(rows, look)
	b.WriteString("by which rule, and the marks' ids:\n")
	for _, m := range p.Marks {
		fmt.Fprintf(&b, "  %s, %s: %s [%s] (%s)\n", m.Name, strings.Join(m.Games, " and "), m.Rule, m.Source, strings.Join(append([]string{m.ID}, m.Also...), ", "))
	}
	writeMoved(&b, p.Marks)
	for _, n := range p.Notes {
		b.WriteString("\n" + n.lines())
	}
	for _, f := range p.Findings {
		fmt.Fprintf(&b, "\nlook out: %s\n    help: %s\n", f.Text, f.Help)
	}
	_, err := io.WriteString(w, table+"\n"+folded(trimLines(b.String()), look))
	return err
}

// laidOut is a table as it is to look.
func laidOut(rows [][]string, look screen.Look) string {
	for _, row := range rows {
		for i := range row {
			if look.Inches {
				row[i] = figure.InchesFirst(row[i])
			}
		}
	}
	return screen.Table(rows, look.Columns)
}

// folded is running text as it is to look.
func folded(text string, look screen.Look) string {
	if look.Inches {
		text = figure.InchesFirst(text)
	}
	return screen.Fold(text, look.Columns)
}

// tape says what plus-minus the tape gives the mark.
func (m Mark) tape() string {
	return "+-" + figure.Fixed(m.TapeX, 1) + ", +-" + figure.Fixed(m.TapeY, 1) + " mm"
}

// movedShown is the least movement that is printed, mm: below it a table is as
// good as true.
const movedShown = 0.05

// writeMoved lists the marks the survey moved from the ideal rectangle.
func writeMoved(b *strings.Builder, marks []Mark) {
	first := true
	for _, m := range marks {
		if math.Max(math.Abs(m.MovedX), math.Abs(m.MovedY)) < movedShown {
			continue
		}
		if first {
			b.WriteString("\nmoved from where a true table of this length and width has them:\n")
			first = false
		}
		fmt.Fprintf(b, "  %s: %s along, %s across (+ to the foot, + to the left)\n", m.Name, figure.Signed(m.MovedX), figure.Signed(m.MovedY))
	}
}

// lines prints a note: what is chosen, and what every other value would move.
func (n Note) lines() string {
	if n.Choice == "" {
		return "note: " + n.Text + "\n"
	}
	var b strings.Builder
	fmt.Fprintf(&b, "choice %s: %s\n    %s\n", n.Choice, n.Chosen, n.Text)
	for _, o := range n.Options {
		fmt.Fprintf(&b, "    %s: %s (%s), %s, %s\n", o.Value, figure.Length(o.At), figure.Signed(o.Moves), o.Rule, o.Source)
	}
	return b.String()
}

// markJSON is a mark as the files show it: lengths to 1e-6 mm, what does not
// apply left out.
type markJSON struct {
	ID       string       `json:"id"`
	Also     []string     `json:"also"`
	Name     string       `json:"name"`
	Games    []string     `json:"games"`
	Kind     Kind         `json:"kind"`
	Group    string       `json:"group,omitempty"`
	X        *float64     `json:"x,omitempty"`
	Y        *float64     `json:"y,omitempty"`
	X2       *float64     `json:"x2,omitempty"`
	Y2       *float64     `json:"y2,omitempty"`
	Radius   *float64     `json:"radius,omitempty"`
	StartDeg *float64     `json:"start_deg,omitempty"`
	EndDeg   *float64     `json:"end_deg,omitempty"`
	Points   [][2]float64 `json:"points,omitempty"`
	FromHead string       `json:"from_head"`
	FromFoot string       `json:"from_foot"`
	Across   string       `json:"across"`
	Rule     string       `json:"rule"`
	Source   string       `json:"source"`
	TapeX    float64      `json:"tape_x"`
	TapeY    float64      `json:"tape_y"`
	MovedX   float64      `json:"moved_x"`
	MovedY   float64      `json:"moved_y"`
}

// shown returns a mark as the files show it.
func (m Mark) shown() markJSON {
	num := func(v float64) *float64 { v = geom.Millionth(v); return &v }
	out := markJSON{ID: m.ID, Also: append([]string{}, m.Also...), Name: m.Name, Games: append([]string{}, m.Games...), Kind: m.Kind, Group: m.Group,
		FromHead: m.FromHead, FromFoot: m.FromFoot, Across: m.Across, Rule: m.Rule, Source: m.Source,
		TapeX: geom.Millionth(m.TapeX), TapeY: geom.Millionth(m.TapeY), MovedX: geom.Millionth(m.MovedX), MovedY: geom.Millionth(m.MovedY)}
	if m.Kind == Outline {
		for _, p := range m.Points {
			out.Points = append(out.Points, [2]float64{geom.Millionth(p[0]), geom.Millionth(p[1])})
		}
		return out
	}
	out.X, out.Y = num(m.X), num(m.Y)
	switch m.Kind {
	case Line:
		out.X2, out.Y2 = num(m.X2), num(m.Y2)
	case Arc:
		out.Radius, out.StartDeg, out.EndDeg = num(m.Radius), num(m.Start.Degrees()), num(m.End.Degrees())
	}
	return out
}

// WriteMarksJSON prints a plan and its tape card as one JSON object: marks (named
// as in record.json), tape_card, notes and findings.
func WriteMarksJSON(w io.Writer, p Plan, card []TapePlace) error {
	out := struct {
		Marks    []markJSON `json:"marks"`
		Card     []tapeJSON `json:"tape_card"`
		Notes    []Note     `json:"notes"`
		Findings []Finding  `json:"findings"`
	}{[]markJSON{}, []tapeJSON{}, append([]Note{}, p.Notes...), append([]Finding{}, p.Findings...)}
	for _, m := range p.Marks {
		out.Marks = append(out.Marks, m.shown())
	}
	for _, c := range card {
		out.Card = append(out.Card, tapeJSON{c.ID, c.End, geom.Millionth(c.EndDist), c.Side, geom.Millionth(c.SideDist), c.Check, geom.Millionth(c.CheckBy), geom.Millionth(c.RoundError)})
	}
	return writeJSON(w, out)
}

// tapeJSON is a line of the tape card as the files show it.
type tapeJSON struct {
	ID         string  `json:"id"`
	End        string  `json:"end"`
	EndDist    float64 `json:"end_mm"`
	Side       string  `json:"side"`
	SideDist   float64 `json:"side_mm"`
	Check      string  `json:"check"`
	CheckBy    float64 `json:"check_mm"`
	RoundError float64 `json:"round_error_mm"`
}

// writeJSON prints a value, indented, without escaping for web pages.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// WriteBallsJSON prints the ball fit as JSON, lengths to 1e-6 mm.
func WriteBallsJSON(w io.Writer, f BallFit) error { return writeJSON(w, f.rounded()) }

// rounded returns the fit with its lengths rounded to 1e-6 mm.
func (f BallFit) rounded() BallFit {
	f.Ball, f.Wall = geom.Millionth(f.Ball), geom.Millionth(f.Wall)
	if f.Rack != nil {
		r := *f.Rack
		for _, v := range []*float64{&r.Depth, &r.Width, &r.Side, &r.BaseToNose, &r.SideToNose} {
			*v = geom.Millionth(*v)
		}
		f.Rack = &r
	}
	if f.Snooker != nil {
		s := *f.Snooker
		for _, v := range []*float64{&s.PinkToBlack, &s.BlackToNose, &s.BehindBlack, &s.DWidth, &s.DWidthBalls, &s.ApexToPink, &s.LargestBall} {
			*v = geom.Millionth(*v)
		}
		s.Racks = append([]Rack(nil), s.Racks...)
		for i := range s.Racks {
			k := &s.Racks[i]
			for _, v := range []*float64{&k.Depth, &k.Width, &k.Gap, &k.Clear, &k.WallRoom, &k.Largest} {
				*v = geom.Millionth(*v)
			}
		}
		f.Snooker = &s
	}
	return f
}
