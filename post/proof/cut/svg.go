package cut

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
	"spotjig/post/proof"
)

// svgTol is how far a line of the picture may be off, mm: six digits are printed, and the
// middle of an arc hangs on its radius.
const svgTol = 0.0005

// SVG reads a sheet's picture for cutting back, with a reader of its own for elements and
// path data, and compares every path with the parts on the sheet (id svg): the size is the
// stock's in millimetres and one unit is one, groups are the layers, in the job's colours
// and with hairlines, and there is nothing else in them but paths.
func SVG(data []byte, set post.Set, i int) jig.Check {
	c := jig.Check{ID: "svg", Verdict: jig.Pass, Limit: svgTol, Unit: "mm"}
	n, worst, err := compareSVG(data, set, i)
	c.Value = worst
	if err != nil {
		return proof.Failed(c, fmt.Sprintf("sheet %d: %v", set.Sheets[i].N, err))
	}
	c.Text = fmt.Sprintf("sheet %d: %d paths read back as the parts", set.Sheets[i].N, n)
	return c
}

func compareSVG(data []byte, set post.Set, i int) (n int, worst float64, err error) {
	got, err := readSVG(data, set, i)
	if err != nil {
		return 0, 0, err
	}
	want, err := wanted(set, i)
	if err != nil {
		return 0, 0, err
	}
	want = want[1:] // the stock's edge is the picture's
	if len(got) != len(want) {
		return len(got), 0, fmt.Errorf("%w: %d paths, wanted %d", ErrDrawing, len(got), len(want))
	}
	// Each path is held against the wanted one that is nearest, not against the next one: a
	// program that cuts by colours sorts a group's paths as it likes, so that their order
	// says nothing.
	var along []Entity
	ways := make([]way, len(want))
	taken, first := make([]bool, len(want)), 0 // all before first are taken
	for k, e := range got {
		layer := layerOf(e.Layer)
		if k > 0 && rank(got[k-1].Layer) > rank(e.Layer) {
			return k, worst, fmt.Errorf("%w: %s comes after %s", ErrDrawing, e.Layer, got[k-1].Layer)
		}
		if e.Layer = layer; set.Compensated() && rank(layer) > rank("SCORE") {
			if !e.Closed {
				return k, worst, fmt.Errorf("%w: path %d of %s about %s is open", ErrDrawing, k+1, layer, proof.At(e.V[0].At))
			}
			along = append(along, e)
			continue
		}
		for first < len(want) && taken[first] {
			first++
		}
		at, d, is := -1, math.Inf(1), wayOf(e)
		for j := first; j < len(want); j++ {
			w := &want[j]
			if taken[j] || w.Layer != layer || w.Closed != e.Closed && w.Kind != "CIRCLE" {
				continue
			}
			if ways[j].curves == nil {
				ways[j] = wayOf(*w)
			}
			if off := is.apart(ways[j]); off < d {
				at, d = j, off
			}
			if d <= svgTol {
				break
			}
		}
		if at < 0 || d > svgTol {
			return k, d, fmt.Errorf("%w: path %d of %s about %s is off by %.6f mm", ErrDrawing, k+1, layer, proof.At(e.V[0].At), d)
		}
		taken[at] = true
		worst = math.Max(worst, d)
	}
	if len(along) > 0 {
		return len(got), worst, cutAlong(along, set, i)
	}
	return len(got), worst, nil
}

// rank is a group's place in the file, -1 for one that must not be there.
func rank(layer string) int {
	return slices.Index([]string{"LETTERING", "SCORE", "OPENING", "OUTLINE-INSIDE", "OPENING-AROUND", "OUTLINE"}, layer)
}

// layerOf is the layer of a group. Outlines of pieces that lie in an opening, and openings
// around pieces, have groups of their own, so that they are cut in this order.
func layerOf(group string) string {
	layer, _, _ := strings.Cut(group, "-")
	return layer
}

// readSVG reads the elements.
func readSVG(data []byte, set post.Set, i int) ([]Entity, error) {
	if len(data) > drawingMax {
		return nil, fmt.Errorf("%w: longer than %d bytes", ErrDrawing, drawingMax)
	}
	r := svgReader{width: set.Sheets[i].Width, height: set.Sheets[i].Height, colours: set.Job.Colours}
	dec := xml.NewDecoder(bytes.NewReader(data))
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%w: %w", ErrDrawing, err)
		}
		switch t := tok.(type) {
		case xml.EndElement:
			r.depth--
			r.ended = r.depth == 0
		case xml.CharData:
			if strings.TrimSpace(string(t)) != "" {
				return nil, fmt.Errorf("%w: text %.20q", ErrDrawing, t)
			}
		case xml.StartElement:
			if err := r.element(t); err != nil {
				return nil, err
			}
		}
	}
	if r.depth != 0 || !r.ended {
		return nil, fmt.Errorf("%w: no picture", ErrDrawing)
	}
	return r.out, nil
}

// svgReader is where the reading of a picture stands.
type svgReader struct {
	width, height float64 // of the sheet
	colours       job.Colours
	depth         int
	ended         bool
	layer         string
	seen          []string // layers
	out           []Entity
}

// element reads one: the picture, a layer's group in it, or a path in that. An attribute
// that none of them has is refused.
func (r *svgReader) element(t xml.StartElement) (err error) {
	r.depth++
	attr := map[string]string{}
	for _, a := range t.Attr {
		attr[a.Name.Local] = a.Value
	}
	own := []string{"d"}
	switch {
	case r.depth == 1 && t.Name.Local == "svg" && t.Name.Space == "http://www.w3.org/2000/svg" && !r.ended:
		err, own = r.picture(attr), []string{"width", "height", "viewBox", "version", "xmlns"}
	case r.depth == 2 && t.Name.Local == "g":
		err, own = r.group(attr), []string{"id", "stroke", "fill", "stroke-width"}
	case r.depth == 3 && t.Name.Local == "path":
		var e Entity
		e, err = pathEntity(attr["d"], r.height)
		e.Layer = r.layer
		r.out = append(r.out, e)
	default:
		return fmt.Errorf("%w: a %.20q", ErrDrawing, t.Name.Local)
	}
	for _, k := range slices.Sorted(maps.Keys(attr)) {
		if err == nil && !slices.Contains(own, k) {
			return fmt.Errorf("%w: a %.20q with %.20q", ErrDrawing, t.Name.Local, k)
		}
	}
	return err
}

// picture holds the picture's size against the sheet's.
func (r *svgReader) picture(attr map[string]string) error {
	box := strings.Fields(attr["viewBox"])
	if len(box) != 4 {
		return fmt.Errorf("%w: view box %.40q", ErrDrawing, attr["viewBox"])
	}
	w, okW := strings.CutSuffix(attr["width"], "mm")
	h, okH := strings.CutSuffix(attr["height"], "mm")
	for k, s := range append(box, w, h) {
		v, err := svgNumber(s)
		if err != nil {
			return err
		}
		if want := []float64{0, 0, r.width, r.height, r.width, r.height}[k]; math.Abs(v-want) > DrawTol || !okW || !okH {
			return fmt.Errorf("%w: the picture's size is %s by %s, view box %q", ErrDrawing, attr["width"], attr["height"], attr["viewBox"])
		}
	}
	return nil
}

// group begins a layer, which must be one not yet seen, in its colour and in thin lines.
func (r *svgReader) group(attr map[string]string) error {
	r.layer = attr["id"]
	want, ok := map[string]string{"LETTERING": r.colours.Lettering, "SCORE": r.colours.Score, "OPENING": r.colours.Opening, "OUTLINE": r.colours.Outline}[layerOf(r.layer)]
	thick, err := svgNumber(attr["stroke-width"])
	if !ok || rank(r.layer) < 0 || slices.Contains(r.seen, r.layer) || attr["stroke"] != want || attr["fill"] != "none" || err != nil || !(thick > 0 && thick <= 0.1) {
		return fmt.Errorf("%w: a group %.20q of colour %.20q, filled with %.20q, lines %.20q wide", ErrDrawing, r.layer, attr["stroke"], attr["fill"], attr["stroke-width"])
	}
	r.seen = append(r.seen, r.layer)
	return nil
}

// svgNumber reads a finite number.
func svgNumber(s string) (float64, error) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%w: %.20q is no number", ErrDrawing, s)
	}
	return v, nil
}

// pathEntity reads path data of absolute M, L, A and Z; y is turned up again.
func pathEntity(d string, height float64) (Entity, error) {
	e := Entity{Kind: "LWPOLYLINE", V: make([]geom.Vertex, 0, 1+strings.Count(d, "L")+strings.Count(d, "A"))}
	fault := func() (Entity, error) { return e, fmt.Errorf("%w: path data %.60q", ErrDrawing, d) }
	rest := d
	var v [7]float64 // an arc's
	for rest != "" {
		if e.Closed {
			return fault()
		}
		cmd := rest[0]
		end := strings.IndexAny(rest[1:], "MLAZ") + 1
		if end == 0 {
			end = len(rest)
		}
		count := 0
		for s := range strings.FieldsSeq(rest[1:end]) {
			n, err := strconv.ParseFloat(s, 64)
			if err != nil || math.IsNaN(n) || math.IsInf(n, 0) || count == len(v) {
				return fault()
			}
			v[count] = n
			count++
		}
		rest = rest[end:]
		want := -1
		switch cmd {
		case 'M', 'L':
			want = 2
		case 'A':
			want = 7
		case 'Z':
			want = 0
		}
		if want != count || (cmd == 'M') != (len(e.V) == 0) {
			return fault()
		}
		if cmd == 'Z' {
			e.Closed = true
			continue
		}
		to := geom.Point{X: v[count-2], Y: height - v[count-1]}
		if cmd == 'A' {
			half := proof.Dist(e.V[len(e.V)-1].At, to) / 2
			if v[0] != v[1] || v[2] != 0 || v[3] != 0 || v[4] != 0 && v[4] != 1 || !(v[0] > 0) || half == 0 || v[0] < half {
				return fault()
			}
			bulge := math.Tan(math.Asin(half/v[0]) / 2)
			if v[4] == 1 {
				bulge = -bulge
			}
			e.V[len(e.V)-1].Bulge = bulge
		}
		e.V = append(e.V, geom.Vertex{At: to})
	}
	if len(e.V) < 2 {
		return fault()
	}
	// A chain that comes back to its start by an arc ends where it began.
	if n := len(e.V); e.Closed && proof.Dist(e.V[0].At, e.V[n-1].At) < DrawTol {
		e.V = e.V[:n-1]
	}
	return e, nil
}
