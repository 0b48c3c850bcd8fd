package cut

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/proof"
)

// DrawTol is how far what is drawn may be off, mm: six decimals are printed, of scaled and
// turned numbers. The parts of a folder that is proved again come from its record, where
// every end, width and angle was rounded to six decimals as well.
const DrawTol = 0.00001

// BulgeTol is how far a bulge may be off: twelve decimals are printed, and moving a chain
// leaves its bulges as they are.
const BulgeTol = 1e-9

// drawingMax bounds what is read back, bytes.
const drawingMax = 256 << 20

// ErrDrawing is wrapped by every error about a drawing as read back.
var ErrDrawing = errors.New("drawing as read")

// Entity is one entity of the drawing.
type Entity struct {
	Kind   string // CIRCLE or LWPOLYLINE
	Layer  string
	Closed bool
	V      []geom.Vertex
	C      geom.Point
	R      float64
}

// pair is a group code with its value.
type pair struct {
	code  int
	value string
}

// Drawing reads a sheet's DXF back with a reader of its own, a list of code and
// value pairs, and compares every entity with the parts on the sheet (id dxf):
// stock edge, then lettering, scores, openings and outlines, each on its layer, full
// circles as CIRCLE; then notes, all of them below the stock and no wider than it; neither
// these nor the stock's edge are to be plotted. Of a drawing with the kerf taken, openings
// and outlines are swept with the kerf, and what is left must be the nominal parts.
func Drawing(data []byte, set post.Set, i int) jig.Check {
	sheet := set.Sheets[i]
	c := jig.Check{ID: "dxf", Verdict: jig.Pass, Limit: DrawTol, Unit: "mm"}
	n, worst, err := compareDrawing(data, set, i)
	c.Value = worst
	if err != nil {
		return proof.Failed(c, fmt.Sprintf("sheet %d: %v", sheet.N, err))
	}
	c.Text = fmt.Sprintf("sheet %d: %d drawn entities read back as the parts", sheet.N, n)
	return c
}

func compareDrawing(data []byte, set post.Set, i int) (n int, worst float64, err error) {
	pairs, err := pairsOf(data)
	if err != nil {
		return 0, 0, err
	}
	if err := checkHeader(pairs); err != nil {
		return 0, 0, err
	}
	if err := checkLayers(pairs); err != nil {
		return 0, 0, err
	}
	if err := checkPlotted(pairs); err != nil {
		return 0, 0, err
	}
	got, err := entitiesOf(pairs)
	if err != nil {
		return 0, 0, err
	}
	want, err := wanted(set, i)
	if err != nil {
		return 0, 0, err
	}
	if len(got) < len(want) {
		return len(got), 0, fmt.Errorf("%w: %d entities, at least %d wanted", ErrDrawing, len(got), len(want))
	}
	if worst, err = compareEntities(got[:len(want)], want, set, i); err != nil {
		return len(want), worst, err
	}
	if err := checkNotes(got[len(want):], set, i); err != nil {
		return len(want), worst, err
	}
	return len(got), worst, nil
}

// checkPlotted refuses a drawing whose notes or stock edge are to be plotted, or in which
// anything else is not.
func checkPlotted(pairs []pair) error {
	for i, p := range pairs {
		if p != (pair{0, "LAYER"}) {
			continue
		}
		name, plotted := "", true
		for _, q := range pairs[i+1:] {
			if q.code == 0 {
				break
			}
			switch q.code {
			case 2:
				name = q.value
			case 290:
				plotted = strings.TrimSpace(q.value) != "0"
			}
		}
		if never := name == "NOTE" || name == "SHEET"; plotted == never {
			return fmt.Errorf("%w: layer %.20q is to be plotted: %v", ErrDrawing, name, plotted)
		}
	}
	return nil
}

// checkNotes refuses a drawing without notes, and notes that are not open chains below the
// stock and no wider than it or the bar. The last of them must be the bar, as long as it is
// said to be, and those before it what must be said, as their strokes are read.
func checkNotes(notes []Entity, set post.Set, i int) error {
	width := set.Sheets[i].Width
	for k, e := range notes {
		if e.Layer != "NOTE" || e.Closed || e.Kind == "CIRCLE" {
			return fmt.Errorf("%w: entity %d from the notes on: a %s on %s too many", ErrDrawing, k+1, e.Kind, e.Layer)
		}
		for _, v := range e.V {
			if v.At.Y >= 0 || v.At.X < 0 || v.At.X > math.Max(width, barLength) {
				return fmt.Errorf("%w: a note at %s is not below the stock", ErrDrawing, proof.At(v.At))
			}
		}
	}
	if len(notes) == 0 {
		return fmt.Errorf("%w: no notes", ErrDrawing)
	}
	bar := notes[len(notes)-1].chain()
	if len(bar) != 3 || bar[1].Arc || math.Abs(bar[1].Length()-barLength) > DrawTol || math.Abs(bar[1].A.Y-bar[1].B.Y) > DrawTol {
		return fmt.Errorf("%w: the last note is no bar of %g mm", ErrDrawing, barLength)
	}
	if width < barLength {
		return nil // words may be broken
	}
	return checkSaid(notes[:len(notes)-1], set)
}

// checkSaid refuses notes that do not say how thick the sheet is, whether the kerf is taken,
// that nothing is mirrored, and how long the bar is; phrases are read word by word, because a
// note may be broken between two.
func checkSaid(notes []Entity, set post.Set) error {
	chains := make([]geom.Contour, len(notes))
	for k, e := range notes {
		var err error
		if chains[k], err = geom.NewOpen(e.V...); err != nil {
			return fmt.Errorf("%w: note %d: %w", ErrDrawing, k+1, err)
		}
	}
	kerf := "nominal: apply your kerf"
	if set.Compensated() {
		kerf = "kerf of " + figure.Short(set.Material.Kerf, 3) + " mm is taken already."
	}
	at, alphabet := 0, readAlphabet(jig.Alphabet())
	if len(alphabet) < 95 { // the printable characters, blank to tilde
		return fmt.Errorf("%w: the alphabet was not read whole", ErrDrawing)
	}
	for _, phrase := range []string{"thickness " + figure.Short(set.Material.Thickness, 2) + " mm", kerf, "do not mirror", "bar is " + figure.Short(barLength, 0) + " mm"} {
		n := 0 // strokes of the phrase that stand from at on
		for ; at < len(chains) && n == 0; at++ {
			for _, word := range strings.Fields(phrase) {
				want := strokesRead(word, alphabet, 0)
				if !stands(chains[at+n:], want) {
					n = 0
					break
				}
				n += len(want)
			}
		}
		if n == 0 {
			return fmt.Errorf("%w: the notes do not say %q where they should", ErrDrawing, phrase)
		}
		at += n - 1
	}
	return nil
}

// barLength is the length of the bar among the notes, mm: whoever opens the drawing measures
// it to see that no software has scaled it.
const barLength = 100.0

// compareEntities compares what is drawn with what is wanted, one by one; where the kerf
// is taken, openings and outlines by what is left when they are cut along the line.
func compareEntities(got, want []Entity, set post.Set, i int) (worst float64, err error) {
	var along []Entity
	for k, w := range want {
		if set.Compensated() && (w.Layer == "OPENING" || w.Layer == "OUTLINE") {
			if got[k].Layer != w.Layer {
				return worst, fmt.Errorf("%w: entity %d is on %s, wanted on %s", ErrDrawing, k+1, got[k].Layer, w.Layer)
			}
			if !got[k].Closed && got[k].Kind != "CIRCLE" {
				return worst, fmt.Errorf("%w: entity %d on %s is open", ErrDrawing, k+1, w.Layer)
			}
			along = append(along, got[k])
			continue
		}
		d, err := got[k].Differs(w)
		worst = math.Max(worst, d)
		if err != nil {
			return worst, fmt.Errorf("entity %d: %w", k+1, err)
		}
	}
	if len(along) == 0 {
		return worst, nil
	}
	return worst, cutAlong(along, set, i)
}

// cutAlong sweeps the kerf along what is drawn and holds what is left against the parts.
func cutAlong(drawn []Entity, set post.Set, i int) error {
	s, err := proof.RingsOnSheet(set.Jig.Parts, set.Sheets[i].Sheet)
	if err != nil {
		return err
	}
	var cuts []*proof.Move
	for _, e := range drawn {
		for _, k := range e.curves() {
			cuts = append(cuts, &proof.Move{Line: int64(len(cuts) + 1), Label: e.Layer, Beam: true, Index: len(cuts), Curve: k})
		}
	}
	f, times := swept(s, cuts, Cutting{Kerf: set.Material.Kerf}, false)
	for _, c := range []jig.Check{cutCheck(f, set.Sheets[i].N, len(s.Rings)), times.Check(s, proof.Passes{1, 1, 1}, set.Sheets[i].N)} {
		if c.Verdict == jig.Fail {
			return fmt.Errorf("%w: cut along the line: %s", ErrDrawing, c.Text)
		}
	}
	return nil
}

// WorkIn measures a DXF, layer by layer.
func WorkIn(data []byte) (proof.Work, error) {
	pairs, err := pairsOf(data)
	if err != nil {
		return proof.Work{}, err
	}
	entities, err := entitiesOf(pairs)
	if err != nil {
		return proof.Work{}, err
	}
	var w proof.Work
	for _, e := range entities {
		length := 0.0
		for _, k := range e.curves() {
			length += k.Length()
		}
		switch e.Layer {
		case "LETTERING":
			w.Letter += length
		case "SCORE":
			w.Score += length
		case "OPENING", "OUTLINE":
			w.Cut += length
			w.Contours++
		}
	}
	return w, nil
}

// pairsOf splits the file into pairs of lines.
func pairsOf(data []byte) ([]pair, error) {
	if len(data) > drawingMax {
		return nil, fmt.Errorf("%w: longer than %d bytes", ErrDrawing, drawingMax)
	}
	rest := string(data)
	out := make([]pair, 0, strings.Count(rest, "\n")/2)
	for rest != "" {
		code, value, tail, ok := twoLines(rest)
		n, err := strconv.Atoi(strings.TrimSpace(code))
		if err != nil || !ok {
			return nil, fmt.Errorf("%w: pair %d: %.20q is no group code with a value", ErrDrawing, len(out)+1, code)
		}
		out = append(out, pair{n, value})
		rest = tail
	}
	if len(out) == 0 || out[len(out)-1] != (pair{0, "EOF"}) {
		return nil, fmt.Errorf("%w: does not end in EOF", ErrDrawing)
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

// checkHeader refuses another version than the reader knows, and other units than mm.
func checkHeader(pairs []pair) error {
	want := map[string]pair{"$ACADVER": {1, "AC1015"}, "$INSUNITS": {70, "4"}, "$MEASUREMENT": {70, "1"}}
	for i, p := range pairs[:len(pairs)-1] {
		if w, ok := want[p.value]; ok && p.code == 9 {
			if pairs[i+1] != w {
				return fmt.Errorf("%w: %s is %.20q", ErrDrawing, p.value, pairs[i+1].value)
			}
			delete(want, p.value)
		}
	}
	if len(want) > 0 {
		return fmt.Errorf("%w: version or units are not stated", ErrDrawing)
	}
	return nil
}

// checkLayers: no layer is frozen (1), frozen in new viewports (2) or locked (4), nor
// switched off by a negative colour (DXF reference, LAYER).
func checkLayers(pairs []pair) error {
	name := ""
	inside := false
	for _, p := range pairs {
		switch {
		case p.code == 0:
			inside, name = p.value == "LAYER", ""
		case inside && p.code == 2:
			name = p.value
		case inside && (p.code == 70 && strings.TrimSpace(p.value) != "0" || p.code == 62 && strings.HasPrefix(strings.TrimSpace(p.value), "-")):
			return fmt.Errorf("%w: the layer %.20q is frozen, locked or off", ErrDrawing, name)
		}
	}
	return nil
}

// entitiesOf reads the ENTITIES section, of which there is one.
func entitiesOf(pairs []pair) ([]Entity, error) {
	begin := func(i int) bool {
		return pairs[i] == (pair{2, "ENTITIES"}) && i > 0 && pairs[i-1] == (pair{0, "SECTION"})
	}
	i, n := 0, 0
	for k := range pairs {
		if begin(k) {
			i, n = k, n+1
		}
	}
	if n != 1 {
		return nil, fmt.Errorf("%w: %d sections of entities", ErrDrawing, n)
	}
	var out []Entity
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

func entityOf(pairs []pair) (Entity, error) {
	e := Entity{Kind: pairs[0].value}
	if e.Kind != "CIRCLE" && e.Kind != "LWPOLYLINE" {
		return e, fmt.Errorf("%w: a %.20q in model space", ErrDrawing, e.Kind)
	}
	count := -1
	for _, p := range pairs[1:] {
		if p.code == 8 {
			e.Layer = p.value
		}
		if !drawn(p.code) {
			continue
		}
		v, err := strconv.ParseFloat(p.value, 64)
		switch p.code {
		case 10:
			e.C.X = v
			e.V = append(e.V, geom.Vertex{At: geom.Point{X: v}})
		case 20:
			if len(e.V) == 0 {
				return e, fmt.Errorf("%w: a y before its x", ErrDrawing)
			}
			e.C.Y, e.V[len(e.V)-1].At.Y = v, v
		case 40:
			e.R = v
		case 42:
			if len(e.V) == 0 {
				return e, fmt.Errorf("%w: a bulge before its vertex", ErrDrawing)
			}
			e.V[len(e.V)-1].Bulge = v
		case 70:
			e.Closed = int(v)&1 == 1
		case 90:
			count = int(v)
			e.V = slices.Grow(e.V, max(0, min(count, len(pairs))))
		}
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return e, fmt.Errorf("%w: group %d: %.20q is no number", ErrDrawing, p.code, p.value)
		}
	}
	if e.Kind == "LWPOLYLINE" && count != len(e.V) {
		return e, fmt.Errorf("%w: %d vertices stated, %d there", ErrDrawing, count, len(e.V))
	}
	return e, nil
}

// drawn reports whether a group code tells of an entity's shape: places, a radius, bulges,
// whether it is closed, how many vertices follow.
func drawn(code int) bool {
	switch code {
	case 10, 20, 40, 42, 70, 90:
		return true
	}
	return false
}

// wanted are the entities the sheet must hold, in order, from the parts. A piece may lie in
// another's opening: it is drawn before that opening, and the opening just before its own
// piece's outline.
func wanted(set post.Set, i int) ([]Entity, error) {
	sheet := set.Sheets[i]
	pieces, err := piecesOn(set, i)
	if err != nil {
		return nil, err
	}
	w, h := sheet.Width, sheet.Height
	v := func(x, y float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}} }
	out := []Entity{{Kind: "LWPOLYLINE", Layer: "SHEET", Closed: true, V: []geom.Vertex{v(0, 0), v(w, 0), v(w, h), v(0, h)}}}
	for _, p := range pieces {
		for _, c := range p.part.Letters {
			out = append(out, chainEntity("LETTERING", c, p.m))
		}
	}
	for _, p := range pieces {
		for _, c := range p.part.Scores {
			out = append(out, chainEntity("SCORE", c, p.m))
		}
	}
	for _, p := range pieces {
		for o, q := range p.part.Openings {
			if p.holds[o] == 0 {
				out = append(out, openingEntity(q, p.m))
			}
		}
	}
	return append(out, outlines(pieces)...), nil
}

// piece is one on the sheet.
type piece struct {
	part   jig.Part
	m      proof.Mover
	holds  []int    // by opening, how many pieces lie in it
	inside [][2]int // the piece and the opening that it lies in
}

// piecesOn are the pieces on a sheet, with what lies in what.
func piecesOn(set post.Set, i int) ([]piece, error) {
	sheet := set.Sheets[i]
	var out []piece
	for _, pl := range sheet.Placed {
		p, ok := set.Part(pl.ID)
		if !ok {
			return nil, fmt.Errorf("%w: the sheet holds %q, which is no part", ErrDrawing, pl.ID)
		}
		out = append(out, piece{part: p, m: proof.MoverOf(p, pl.On), holds: make([]int, len(p.Openings))})
	}
	s, err := proof.RingsOnSheet(set.Jig.Parts, sheet.Sheet)
	if err != nil {
		return nil, err
	}
	at := make([]geom.Point, len(out))
	for _, r := range s.Rings {
		if r.Outer {
			at[r.Part] = s.Edges[r.Edges[0]].A
		}
	}
	opening := 0
	for _, r := range s.Rings {
		if r.Outer {
			opening = 0
			continue
		}
		for q := range out {
			if q != r.Part && r.Inside(at[q]) {
				out[r.Part].holds[opening]++
				out[q].inside = append(out[q].inside, [2]int{r.Part, opening})
			}
		}
		opening++
	}
	return out, nil
}

// outlines are the pieces' outlines, each behind its openings that hold others: always the
// first piece in whose openings all are drawn.
func outlines(pieces []piece) (out []Entity) {
	done, waits := make([]bool, len(pieces)), make([]int, len(pieces))
	for k, p := range pieces {
		for _, n := range p.holds {
			waits[k] += n
		}
	}
	for range pieces {
		for k, p := range pieces {
			if done[k] || waits[k] > 0 {
				continue
			}
			for o, n := range p.holds {
				if n > 0 {
					out = append(out, openingEntity(p.part.Openings[o], p.m))
				}
			}
			out = append(out, OutlineEntity(p.part.Outline, p.m))
			done[k] = true
			for _, h := range p.inside {
				waits[h[0]]--
			}
			break
		}
	}
	return out
}

func chainEntity(layer string, c geom.Contour, m proof.Mover) Entity {
	e := Entity{Kind: "LWPOLYLINE", Layer: layer, Closed: c.Closed(), V: c.Vertices()}
	for i := range e.V {
		e.V[i].At = m.Point(e.V[i].At)
	}
	return e
}

// OutlineEntity is a piece's outline as it must be drawn where m moves it: a circle where
// the outline is a full one, as a plug's is, else a closed chain.
func OutlineEntity(c geom.Contour, m proof.Mover) Entity {
	chain := proof.ChainOf(c)
	turned := 0.0
	for _, k := range chain {
		if !k.Arc || proof.Dist(k.C, chain[0].C) > DrawTol || math.Abs(k.R-chain[0].R) > DrawTol {
			return chainEntity("OUTLINE", c, m)
		}
		turned += k.Sweep
	}
	if math.Abs(math.Abs(turned)-2*math.Pi) > 1e-6 {
		return chainEntity("OUTLINE", c, m)
	}
	return Entity{Kind: "CIRCLE", Layer: "OUTLINE", C: m.Point(chain[0].C), R: chain[0].R * m.K}
}

func openingEntity(o jig.Opening, m proof.Mover) Entity {
	edge := proof.OpeningEdge(o)
	if len(edge) == 1 {
		return Entity{Kind: "CIRCLE", Layer: "OPENING", C: m.Point(o.A), R: o.Width / 2 * m.K}
	}
	e := Entity{Kind: "LWPOLYLINE", Layer: "OPENING", Closed: true}
	for _, k := range edge {
		n := int(math.Ceil(math.Abs(k.Sweep)/math.Pi - 1e-9))
		for i := range max(1, n) {
			v := geom.Vertex{At: m.Point(k.At(float64(i) / float64(max(1, n))))}
			if k.Arc {
				v.Bulge = math.Tan(k.Sweep / float64(n) / 4)
			}
			e.V = append(e.V, v)
		}
	}
	return e
}

// Differs compares an entity with the one wanted, and returns how far it is off, mm. An
// opening may begin at any vertex and have its arcs in other parts: of it the shape is
// compared. The error wraps ErrDrawing.
func (e Entity) Differs(w Entity) (float64, error) {
	if e.Kind != w.Kind || e.Layer != w.Layer {
		return 0, fmt.Errorf("%w: a %s on %s, wanted a %s on %s", ErrDrawing, e.Kind, e.Layer, w.Kind, w.Layer)
	}
	if e.Kind == "CIRCLE" {
		d := math.Max(proof.Dist(e.C, w.C), math.Abs(e.R-w.R))
		if d > DrawTol {
			return d, fmt.Errorf("%w: circle about %s off by %.6f mm", ErrDrawing, proof.At(w.C), d)
		}
		return d, nil
	}
	if e.Closed != w.Closed {
		return 0, fmt.Errorf("%w: a chain on %s is closed or open where it should not be", ErrDrawing, e.Layer)
	}
	if e.Layer == "OPENING" {
		return e.sameShape(w)
	}
	if len(e.V) != len(w.V) {
		return 0, fmt.Errorf("%w: %d vertices on %s, wanted %d", ErrDrawing, len(e.V), e.Layer, len(w.V))
	}
	worst := 0.0
	for i := range e.V {
		worst = math.Max(worst, proof.Dist(e.V[i].At, w.V[i].At))
		if math.Abs(e.V[i].Bulge-w.V[i].Bulge) > BulgeTol {
			return worst, fmt.Errorf("%w: bulge %.9f on %s, wanted %.9f", ErrDrawing, e.V[i].Bulge, e.Layer, w.V[i].Bulge)
		}
	}
	if worst > DrawTol {
		return worst, fmt.Errorf("%w: a chain on %s is off by %.6f mm", ErrDrawing, e.Layer, worst)
	}
	return worst, nil
}

// sameShape wants a chain as long as the wanted one, the same way round, with every vertex
// and middle of each on the other. It returns how far off the furthest of those is, mm.
func (e Entity) sameShape(w Entity) (float64, error) {
	a, b := e.chain(), w.chain()
	la, lb, aa, ab := 0.0, 0.0, 0.0, 0.0
	worst := 0.0
	for _, pass := range []struct {
		k, on    []proof.Curve
		l, areas *float64
	}{{a, b, &la, &aa}, {b, a, &lb, &ab}} {
		for _, k := range pass.k {
			*pass.l += k.Length()
			*pass.areas += k.A.X*k.B.Y - k.A.Y*k.B.X
			for _, p := range [2]geom.Point{k.A, k.At(0.5)} {
				_, d := proof.NearestOf(pass.on, p)
				worst = math.Max(worst, d)
			}
		}
	}
	if worst > DrawTol || math.Abs(la-lb) > DrawTol*float64(len(a)+len(b)) || aa*ab < 0 {
		return worst, fmt.Errorf("%w: the opening about %s is off by %.6f mm, %.6f mm longer, or runs the other way", ErrDrawing, proof.At(w.V[0].At), worst, la-lb)
	}
	return worst, nil
}

// curves are the lines and arcs that an entity draws, in order; a circle is two halves.
func (e Entity) curves() []proof.Curve {
	if e.Kind == "CIRCLE" {
		return []proof.Curve{proof.ArcOf(e.C, e.R, 0, math.Pi), proof.ArcOf(e.C, e.R, math.Pi, math.Pi)}
	}
	return e.chain()
}

func (e Entity) chain() []proof.Curve {
	out := make([]proof.Curve, 0, len(e.V))
	for i, v := range e.V {
		if !e.Closed && i == len(e.V)-1 {
			break
		}
		out = append(out, proof.Bulged(v.At, e.V[(i+1)%len(e.V)].At, v.Bulge))
	}
	return out
}

// Held is the check of a drawing that waits until the sheet's thickness is measured, because
// its slots would not fit the sheet (id held). there says that it was written all the same.
func Held(name string, there bool) jig.Check {
	c := jig.Check{ID: "held", Verdict: jig.Pass, Text: name + " is held back until the sheet's thickness is measured"}
	if there {
		return proof.Failed(c, name+".dxf is drawn for a thickness that nobody has measured")
	}
	return c
}
