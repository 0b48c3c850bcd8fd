package layout

import (
	"cmp"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/screen"
)

// TapePlace is a line of the tape card: how to find one place with a tape, mm.
type TapePlace struct {
	ID, Name string
	End      string  // "head nose" or "foot nose", the nearer
	EndDist  float64 // square to it
	Side     string  // "right nose" or "left nose", the nearer
	SideDist float64
	Check    string // a place marked before by its id, or the far nose for the first
	CheckAs  string // the same by its name
	CheckBy  float64
	Radius   float64 // of an arc about the place, 0 none
	// RoundError is how far the place moves when both distances are read to the
	// nearest 1/32 in.
	RoundError float64
}

// checkFrom is how far away a place must be to check another by, mm: nearer, a
// tape's hook and a pencil line are too much of the distance. Common practice.
const checkFrom = 150

// TapeCard lists what a fitter without a jig needs, in marking-out order: lines
// across the table first, then the spots on and between them, then the other
// lines, arcs and outlines, each from the head to the foot and from right to
// left.
func TapeCard(r Request, p Plan) []TapePlace {
	g := groundOf(r.Table, r.Balls)
	var all []place
	for _, m := range p.Marks {
		all = append(all, placesOf(m)...)
	}
	slices.SortStableFunc(all, func(a, b place) int {
		return cmp.Or(cmp.Compare(a.step(), b.step()), cmp.Compare(geom.Millionth(a.x), geom.Millionth(b.x)),
			cmp.Compare(geom.Millionth(a.y), geom.Millionth(b.y)), cmp.Compare(a.id, b.id))
	})
	var out []TapePlace
	for i, a := range all {
		head, foot, right, left := g.sides(a.x, a.y)
		t := TapePlace{ID: a.id, Name: a.name, End: "head nose", EndDist: head, Side: "right nose", SideDist: right, Radius: a.mark.Radius}
		far, farBy := "left nose", left
		if geom.Millionth(foot) < geom.Millionth(head) {
			t.End, t.EndDist = "foot nose", foot
		}
		if geom.Millionth(left) < geom.Millionth(right) {
			t.Side, t.SideDist = "left nose", left
			far, farBy = "right nose", right
		}
		t.Check, t.CheckAs, t.CheckBy = far, far, farBy
		if b, ok := checkFor(a, all[:i]); ok {
			t.Check, t.CheckAs, t.CheckBy = b.id, b.name, math.Hypot(a.x-b.x, a.y-b.y)
		}
		t.RoundError = math.Hypot(rounded(t.EndDist)-t.EndDist, rounded(t.SideDist)-t.SideDist)
		out = append(out, t)
	}
	return out
}

// step is where a place comes in marking-out order.
func (p place) step() int {
	across := math.Abs(p.mark.Y2-p.mark.Y) > math.Abs(p.mark.X2-p.mark.X)
	switch {
	case p.mark.Kind == Line && across && p.mark.Group == "":
		return 0
	case p.mark.Kind == Spot:
		return 1
	case p.mark.Kind == Line && p.mark.Group == "":
		return 2
	case p.mark.Kind == Arc:
		return 3
	}
	return 4
}

// rounded is a distance to the nearest 1/32 in, in mm.
func rounded(v float64) float64 { return math.Round(v/mmPerInch*32) / 32 * mmPerInch }

// checkFor returns the nearest place marked before that is far enough away to
// check this one by.
func checkFor(a place, before []place) (place, bool) {
	best, least := place{}, math.Inf(1)
	for _, b := range before {
		if d := geom.Millionth(math.Hypot(a.x-b.x, a.y-b.y)); d >= checkFrom && d < least {
			best, least = b, d
		}
	}
	return best, !math.IsInf(least, 1)
}

// WriteTapeCard prints the tape card for people.
func WriteTapeCard(w io.Writer, card []TapePlace, look screen.Look) error {
	const head = "Tape card, in marking-out order. Measure square to each nose, at the nose.\n\n"
	rows := [][]string{{"", "place", "from the end", "from the side", "check", "1/32 in is"}}
	for i, c := range card {
		name := c.Name
		if c.Radius > 0 {
			name += ", radius " + figure.Length(c.Radius)
		}
		side := figure.Length(c.SideDist) + " " + c.Side
		if near(c.SideDist, 0, mergeTol) {
			side = "at the " + c.Side
		}
		end := figure.Length(c.EndDist) + " " + c.End
		if near(c.EndDist, 0, mergeTol) {
			end = "at the " + c.End
		}
		rows = append(rows, []string{strconv.Itoa(i + 1), name, end, side,
			figure.Length(c.CheckBy) + " from " + c.CheckAs, figure.MM(c.RoundError)})
	}
	_, err := io.WriteString(w, head+laidOut(rows, look))
	return err
}

// trimLines drops blanks at the ends of lines.
func trimLines(s string) string {
	lines := strings.Split(s, "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n")
}
