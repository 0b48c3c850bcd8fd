package layout

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/problem"
)

// houseMark is a house mark whose expressions have been read.
type houseMark struct {
	HouseMark
	x, y, x2, y2, radius expr
}

// houseKinds are the kinds a house mark may have; a rectangle is an outline by
// two opposite corners.
var houseKinds = []string{"spot", "line", "arc", "rectangle"}

// houseMax is how many marks a job may add.
const houseMax = 200

// parseHouse reads the job's own marks. Faults have a field like "house[2].x";
// their Col counts inside the expression.
func (r Request) parseHouse() ([]houseMark, error) {
	var list problem.List
	if len(r.House) > houseMax {
		list.Add(problem.Problem{Field: "house", Code: "S025",
			Msg:  fmt.Sprintf("%d marks; at most %d are placed", len(r.House), houseMax),
			Help: "split the job"})
		return nil, list.Err()
	}
	var out []houseMark
	var ids []string
	for i, h := range r.House {
		field := fmt.Sprintf("house[%d]", i)
		list = append(list, h.check(field, ids)...)
		ids = append(ids, h.ID)
		m := houseMark{HouseMark: h}
		for _, e := range h.wanted(&m) {
			var p *problem.Problem
			if *e.into, p = parseExpr(e.text); p != nil {
				p.Field = field + "." + e.name
				list.Add(*p)
			}
		}
		out = append(out, m)
	}
	if err := list.Err(); err != nil {
		return nil, err
	}
	for i, m := range out {
		list = append(list, r.checkPlaced(m, fmt.Sprintf("house[%d]", i))...)
	}
	return out, list.Err()
}

// wantedExpr is one expression a mark of some kind needs.
type wantedExpr struct {
	name, text string
	into       *expr
}

// wanted lists the expressions a mark of its kind needs.
func (h HouseMark) wanted(m *houseMark) []wantedExpr {
	out := []wantedExpr{{"x", h.X, &m.x}, {"y", h.Y, &m.y}}
	switch h.Kind {
	case "line", "rectangle":
		out = append(out, wantedExpr{"x2", h.X2, &m.x2}, wantedExpr{"y2", h.Y2, &m.y2})
	case "arc":
		out = append(out, wantedExpr{"radius", h.Radius, &m.radius})
	}
	return out
}

// check refuses a mark that cannot be told from others or drawn.
func (h HouseMark) check(field string, before []string) problem.List {
	var list problem.List
	switch {
	case !plainID(h.ID):
		list.Add(problem.Problem{Field: field + ".id", Code: "S026",
			Msg:  fmt.Sprintf("id %q is not 1 to %d small letters, digits, points and hyphens", h.ID, idMax),
			Help: `e.g. "practice-spot"`})
	case slices.Contains(before, h.ID):
		list.Add(problem.Problem{Field: field + ".id", Code: "S026",
			Msg: fmt.Sprintf("id %q is used twice", h.ID), Help: "give every mark its own id"})
	}
	if !slices.Contains(houseKinds, h.Kind) {
		list.Add(problem.Problem{Field: field + ".kind", Code: "S027",
			Msg: fmt.Sprintf("unknown kind %q", h.Kind), Help: "it may be " + strings.Join(houseKinds, ", ")})
	}
	start, end := geom.Millionth(h.Start.Degrees()), geom.Millionth(h.End.Degrees())
	if sweep := end - start; h.Kind == "arc" && !(sweep > 0 && sweep <= 360 && math.Abs(start) <= 360) {
		list.Add(problem.Problem{Field: field + ".end_deg", Code: "S028",
			Msg:  fmt.Sprintf("an arc from %g to %g degrees does not run counter-clockwise by 360 degrees at most", start, end),
			Help: "angles count counter-clockwise from the direction of the foot nose; the D of a baulk line runs from 90 to 270"})
	}
	return list
}

// idMax is the longest id of a mark: what fits a piece's lettering and a layer.
const idMax = 31

// plainID reports whether an id is safe in every file we write.
func plainID(id string) bool {
	if id == "" || len(id) > idMax {
		return false
	}
	return strings.Trim(id, "abcdefghijklmnopqrstuvwxyz0123456789.-") == ""
}

// checkPlaced refuses a mark that comes out as no number or as no size.
func (r Request) checkPlaced(m houseMark, field string) problem.List {
	var list problem.List
	t := r.Table
	for _, e := range m.wanted(&m) {
		if v := (*e.into)(t.L, t.W); math.IsNaN(v) || math.Abs(v) > surfaceMax {
			list.Add(problem.Problem{Field: field + "." + e.name, Code: "S029",
				Msg:  fmt.Sprintf("%s gives %g mm on this table, past %d mm", e.text, v, surfaceMax),
				Help: "check the expression"})
		}
	}
	if len(list) > 0 {
		return list
	}
	p := m.mark(groundOf(t, r.Balls)).places()
	size := math.Inf(1)
	switch m.Kind {
	case "arc":
		size = m.radius(t.L, t.W)
	case "line":
		size = math.Hypot(p[0][0]-p[1][0], p[0][1]-p[1][1])
	case "rectangle":
		size = math.Min(math.Abs(p[0][0]-p[2][0]), math.Abs(p[0][1]-p[2][1]))
	}
	if size < houseSizeMin {
		list.Add(problem.Problem{Field: field, Code: "S029",
			Msg:  fmt.Sprintf("%s %s is %s across, less than %s", m.Kind, m.ID, figure.MM(size), figure.MM(houseSizeMin)),
			Help: "a line needs two places, an arc a radius and a rectangle two sides"})
	}
	return list
}

// houseSizeMin is the smallest line, radius or side that can be marked, mm: a
// pencil's width each way.
const houseSizeMin = 2

// mark places a house mark: x from the head nose along the centre line, y from
// the centre line to the left.
func (h houseMark) mark(g ground) Mark {
	at := func(x, y float64) (float64, float64) { return g.place(fromHead, x, offCentre, y) }
	m := Mark{ID: h.ID, Name: h.Name, Games: []string{"house"}, Kind: Kind(h.Kind), Rule: h.rule(), Source: "house mark"}
	if m.Name == "" {
		m.Name = strings.ReplaceAll(h.ID, "-", " ")
	}
	x, y := h.x(g.l, g.w), h.y(g.l, g.w)
	switch h.Kind {
	case "line":
		m.X2, m.Y2 = at(h.x2(g.l, g.w), h.y2(g.l, g.w))
	case "arc":
		m.Radius, m.Start, m.End = h.radius(g.l, g.w), h.Start, h.End
	case "rectangle":
		m.Kind = Outline
		x2, y2 := h.x2(g.l, g.w), h.y2(g.l, g.w)
		x, x2 = math.Min(x, x2), math.Max(x, x2)
		y, y2 = math.Min(y, y2), math.Max(y, y2)
		for _, c := range [][2]float64{{x, y}, {x2, y}, {x2, y2}, {x, y2}} {
			px, py := at(c[0], c[1])
			m.Points = append(m.Points, [2]float64{px, py})
		}
		return m
	}
	m.X, m.Y = at(x, y)
	return m
}

// rule repeats the expressions as the job wrote them.
func (h HouseMark) rule() string {
	text := "x = " + h.X + ", y = " + h.Y
	switch h.Kind {
	case "line", "rectangle":
		text += " to x = " + h.X2 + ", y = " + h.Y2
	case "arc":
		text += ", radius " + h.Radius
	}
	return text
}
