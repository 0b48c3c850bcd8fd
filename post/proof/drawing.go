package proof

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
	"spotjig/post"
)

// drawTol: six decimals are printed, of scaled and turned numbers; a folder proved
// again has its parts from the record, where every end, width and angle was
// rounded to six decimals as well.
const drawTol = 0.00001

// bulgeTol holds bulges, printed with twelve decimals, after a chain's
// vertices have been turned and moved.
const bulgeTol = 1e-9

// drawingMax bounds what is read back, bytes.
const drawingMax = 256 << 20

// errDrawing is wrapped by every error about a drawing as read back.
var errDrawing = errors.New("drawing as read")

// entity is one entity of the drawing.
type entity struct {
	kind   string // CIRCLE or LWPOLYLINE
	layer  string
	closed bool
	v      []geom.Vertex
	c      geom.Point
	r      float64
}

// pair is a group code with its value.
type pair struct {
	code  int
	value string
}

// Drawing reads a sheet's DXF back with a reader of its own, a list of code and
// value pairs, and compares every entity with the parts on the sheet (id dxf):
// stock edge, then piece by piece lettering, scores, openings and outline, each
// on its layer, full circles as CIRCLE; then notes, all of them outside the stock.
func Drawing(data []byte, set post.Set, i int) jig.Check { return drawing(data, set, i, false) }

// drawing is Drawing; cuts leaves lettering and scores out of both sides.
func drawing(data []byte, set post.Set, i int, cuts bool) jig.Check {
	sheet := set.Sheets[i]
	c := jig.Check{ID: "dxf", Verdict: jig.Pass, Limit: drawTol, Unit: "mm"}
	n, worst, err := compareDrawing(data, set, i, cuts)
	c.Value = worst
	if err != nil {
		return failed(c, fmt.Sprintf("sheet %d: %v", sheet.N, err))
	}
	c.Text = fmt.Sprintf("sheet %d: %d drawn entities read back as the parts", sheet.N, n)
	return c
}

func compareDrawing(data []byte, set post.Set, i int, cuts bool) (n int, worst float64, err error) {
	pairs, err := pairsOf(data)
	if err != nil {
		return 0, 0, err
	}
	if err := checkHeader(pairs); err != nil {
		return 0, 0, err
	}
	got, err := entitiesOf(pairs)
	if err != nil {
		return 0, 0, err
	}
	if cuts {
		got = slices.DeleteFunc(got, func(e entity) bool { return e.layer == "LETTERING" || e.layer == "SCORE" })
	}
	want, err := wanted(set, i)
	if err != nil {
		return 0, 0, err
	}
	if len(got) < len(want) {
		return len(got), 0, fmt.Errorf("%w: %d entities, at least %d wanted", errDrawing, len(got), len(want))
	}
	for k, w := range want {
		d, err := got[k].differs(w)
		worst = math.Max(worst, d)
		if err != nil {
			return k, worst, fmt.Errorf("entity %d: %w", k+1, err)
		}
	}
	w, h := set.Sheets[i].Width, set.Sheets[i].Height
	for k, e := range got[len(want):] {
		if e.layer != "NOTE" || e.closed || e.kind == "CIRCLE" {
			return k, worst, fmt.Errorf("%w: entity %d: a %s on %s too many", errDrawing, len(want)+k+1, e.kind, e.layer)
		}
		for _, v := range e.v {
			if v.At.X >= 0 && v.At.X <= w && v.At.Y >= 0 && v.At.Y <= h {
				return k, worst, fmt.Errorf("%w: a note lies on the stock", errDrawing)
			}
		}
	}
	if len(got) == len(want) {
		return len(got), worst, fmt.Errorf("%w: no notes", errDrawing)
	}
	return len(got), worst, nil
}

// pairsOf splits the file into pairs of lines.
func pairsOf(data []byte) ([]pair, error) {
	if len(data) > drawingMax {
		return nil, fmt.Errorf("%w: longer than %d bytes", errDrawing, drawingMax)
	}
	rest := string(data)
	out := make([]pair, 0, strings.Count(rest, "\n")/2)
	for rest != "" {
		code, value, tail, ok := twoLines(rest)
		n, err := strconv.Atoi(strings.TrimSpace(code))
		if err != nil || !ok {
			return nil, fmt.Errorf("%w: pair %d: %.20q is no group code with a value", errDrawing, len(out)+1, code)
		}
		out = append(out, pair{n, value})
		rest = tail
	}
	if len(out) == 0 || out[len(out)-1] != (pair{0, "EOF"}) {
		return nil, fmt.Errorf("%w: does not end in EOF", errDrawing)
	}
	return out, nil
}

func twoLines(s string) (code, value, rest string, ok bool) {
	code, s, ok = strings.Cut(s, "\n")
	if !ok {
		return code, "", "", false
	}
	value, rest, _ = strings.Cut(s, "\n")
	return code, value, rest, true
}

// checkHeader: the version the reader knows, and millimetres.
func checkHeader(pairs []pair) error {
	want := map[string]pair{"$ACADVER": {1, "AC1015"}, "$INSUNITS": {70, "4"}, "$MEASUREMENT": {70, "1"}}
	for i, p := range pairs[:len(pairs)-1] {
		if w, ok := want[p.value]; ok && p.code == 9 {
			if pairs[i+1] != w {
				return fmt.Errorf("%w: %s is %.20q", errDrawing, p.value, pairs[i+1].value)
			}
			delete(want, p.value)
		}
	}
	if len(want) > 0 {
		return fmt.Errorf("%w: version or units are not stated", errDrawing)
	}
	return nil
}

// entitiesOf reads the ENTITIES section.
func entitiesOf(pairs []pair) ([]entity, error) {
	i := 0
	for i < len(pairs) && !(pairs[i] == (pair{2, "ENTITIES"}) && i > 0 && pairs[i-1] == (pair{0, "SECTION"})) {
		i++
	}
	var out []entity
	for i++; i < len(pairs) && pairs[i] != (pair{0, "ENDSEC"}); {
		k := i + 1
		for k < len(pairs) && pairs[k].code != 0 {
			k++
		}
		e, err := entityOf(pairs[i:k])
		if err != nil {
			return nil, err
		}
		out = append(out, e)
		i = k
	}
	return out, nil
}

func entityOf(pairs []pair) (entity, error) {
	e := entity{kind: pairs[0].value}
	if e.kind != "CIRCLE" && e.kind != "LWPOLYLINE" {
		return e, fmt.Errorf("%w: a %.20q in model space", errDrawing, e.kind)
	}
	count := -1
	for _, p := range pairs[1:] {
		if p.code == 8 {
			e.layer = p.value
		}
		if !drawn(p.code) {
			continue
		}
		v, err := strconv.ParseFloat(p.value, 64)
		switch p.code {
		case 10:
			e.c.X = v
			e.v = append(e.v, geom.Vertex{At: geom.Point{X: v}})
		case 20:
			if len(e.v) == 0 {
				return e, fmt.Errorf("%w: a y before its x", errDrawing)
			}
			e.c.Y, e.v[len(e.v)-1].At.Y = v, v
		case 40:
			e.r = v
		case 42:
			if len(e.v) == 0 {
				return e, fmt.Errorf("%w: a bulge before its vertex", errDrawing)
			}
			e.v[len(e.v)-1].Bulge = v
		case 70:
			e.closed = int(v)&1 == 1
		case 90:
			count = int(v)
			e.v = slices.Grow(e.v, max(0, min(count, len(pairs))))
		}
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return e, fmt.Errorf("%w: group %d: %.20q is no number", errDrawing, p.code, p.value)
		}
	}
	if e.kind == "LWPOLYLINE" && count != len(e.v) {
		return e, fmt.Errorf("%w: %d vertices stated, %d there", errDrawing, count, len(e.v))
	}
	return e, nil
}

// drawn lists the group codes that hold geometry.
func drawn(code int) bool {
	switch code {
	case 10, 20, 40, 42, 70, 90:
		return true
	}
	return false
}

// wanted are the entities the sheet must hold, in order, from the parts.
func wanted(set post.Set, i int) ([]entity, error) {
	sheet := set.Sheets[i]
	w, h := sheet.Width, sheet.Height
	v := func(x, y float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}} }
	out := []entity{{kind: "LWPOLYLINE", layer: "SHEET", closed: true, v: []geom.Vertex{v(0, 0), v(w, 0), v(w, h), v(0, h)}}}
	for _, pl := range sheet.Placed {
		p, ok := set.Part(pl.ID)
		if !ok {
			return nil, fmt.Errorf("%w: the sheet holds %q, which is no part", errDrawing, pl.ID)
		}
		m := moverOf(p, pl.On)
		for _, c := range p.Letters {
			out = append(out, chainEntity("LETTERING", c, m))
		}
		for _, c := range p.Scores {
			out = append(out, chainEntity("SCORE", c, m))
		}
		for _, o := range p.Openings {
			out = append(out, openingEntity(o, m))
		}
		out = append(out, outlineEntity(p.Outline, m))
	}
	return out, nil
}

func chainEntity(layer string, c geom.Contour, m mover) entity {
	e := entity{kind: "LWPOLYLINE", layer: layer, closed: c.Closed(), v: c.Vertices()}
	for i := range e.v {
		e.v[i].At = m.point(e.v[i].At)
	}
	return e
}

// outlineEntity: an outline may be a full circle, as a plug's is.
func outlineEntity(c geom.Contour, m mover) entity {
	chain := chainOf(c)
	turned := 0.0
	for _, k := range chain {
		if !k.arc || dist(k.c, chain[0].c) > drawTol || math.Abs(k.r-chain[0].r) > drawTol {
			return chainEntity("OUTLINE", c, m)
		}
		turned += k.sweep
	}
	if math.Abs(math.Abs(turned)-2*math.Pi) > 1e-6 {
		return chainEntity("OUTLINE", c, m)
	}
	return entity{kind: "CIRCLE", layer: "OUTLINE", c: m.point(chain[0].c), r: chain[0].r * m.k}
}

func openingEntity(o jig.Opening, m mover) entity {
	edge := openingEdge(o)
	if len(edge) == 1 {
		return entity{kind: "CIRCLE", layer: "OPENING", c: m.point(o.C), r: o.R * m.k}
	}
	e := entity{kind: "LWPOLYLINE", layer: "OPENING", closed: true}
	for _, k := range edge {
		n := int(math.Ceil(math.Abs(k.sweep)/math.Pi - 1e-9))
		for i := range max(1, n) {
			v := geom.Vertex{At: m.point(k.at(float64(i) / float64(max(1, n))))}
			if k.arc {
				v.Bulge = math.Tan(k.sweep / float64(n) / 4)
			}
			e.v = append(e.v, v)
		}
	}
	return e
}

// differs compares an entity with the one wanted. An opening may start at any
// vertex and may split its arcs: its shape is compared.
func (e entity) differs(w entity) (float64, error) {
	if e.kind != w.kind || e.layer != w.layer {
		return 0, fmt.Errorf("%w: a %s on %s, wanted a %s on %s", errDrawing, e.kind, e.layer, w.kind, w.layer)
	}
	if e.kind == "CIRCLE" {
		d := math.Max(dist(e.c, w.c), math.Abs(e.r-w.r))
		if d > drawTol {
			return d, fmt.Errorf("%w: circle about %s off by %.6f mm", errDrawing, at(w.c), d)
		}
		return d, nil
	}
	if e.closed != w.closed {
		return 0, fmt.Errorf("%w: a chain on %s is closed or open where it should not be", errDrawing, e.layer)
	}
	if e.layer == "OPENING" {
		return e.sameShape(w)
	}
	if len(e.v) != len(w.v) {
		return 0, fmt.Errorf("%w: %d vertices on %s, wanted %d", errDrawing, len(e.v), e.layer, len(w.v))
	}
	worst := 0.0
	for i := range e.v {
		worst = math.Max(worst, dist(e.v[i].At, w.v[i].At))
		if math.Abs(e.v[i].Bulge-w.v[i].Bulge) > bulgeTol {
			return worst, fmt.Errorf("%w: bulge %.9f on %s, wanted %.9f", errDrawing, e.v[i].Bulge, e.layer, w.v[i].Bulge)
		}
	}
	if worst > drawTol {
		return worst, fmt.Errorf("%w: a chain on %s is off by %.6f mm", errDrawing, e.layer, worst)
	}
	return worst, nil
}

// sameShape: as long as the wanted chain, the same way round, and every vertex
// and middle of each on the other.
func (e entity) sameShape(w entity) (float64, error) {
	a, b := e.chain(), w.chain()
	la, lb, aa, ab := 0.0, 0.0, 0.0, 0.0
	worst := 0.0
	for _, pass := range []struct {
		k, on    []curve
		l, areas *float64
	}{{a, b, &la, &aa}, {b, a, &lb, &ab}} {
		for _, k := range pass.k {
			*pass.l += k.length()
			*pass.areas += k.a.X*k.b.Y - k.a.Y*k.b.X
			for _, p := range [2]geom.Point{k.a, k.at(0.5)} {
				_, d := nearestOf(pass.on, p)
				worst = math.Max(worst, d)
			}
		}
	}
	if worst > drawTol || math.Abs(la-lb) > drawTol*float64(len(a)+len(b)) || aa*ab < 0 {
		return worst, fmt.Errorf("%w: the opening about %s is off by %.6f mm, %.6f mm longer, or runs the other way", errDrawing, at(w.v[0].At), worst, la-lb)
	}
	return worst, nil
}

func (e entity) chain() []curve {
	var out []curve
	for i, v := range e.v {
		out = append(out, bulged(v.At, e.v[(i+1)%len(e.v)].At, v.Bulge))
	}
	return out
}
