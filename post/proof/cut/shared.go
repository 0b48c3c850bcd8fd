package cut

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/proof"
)

// AsShared looks at sheets that several jobs share (id as-shared): every piece of every job
// lies on them once, where that job's own set says, with the shape it has there; nothing
// else lies there; and each piece bears its own name, the job's letter in front, as its
// strokes are read. A plug too small for letters has none: those of all jobs are alike.
// What is cut and lettered is held against these pieces by as-cut and as-listed.
func AsShared(all post.Set, jobs []post.Set) jig.Check {
	c := jig.Check{ID: "as-shared", Verdict: jig.Pass}
	alphabet := readAlphabet(jig.Alphabet())
	n := 0
	letters := map[string]bool{}
	for i, j := range jobs {
		if j.Letter == "" || letters[j.Letter] {
			return proof.Failed(c, fmt.Sprintf("job %d has no letter of its own", i+1))
		}
		letters[j.Letter] = true
		for _, p := range j.Jig.Parts {
			if fault := sharedFault(all, j, p, alphabet); fault != "" {
				return proof.Failed(c, p.ID+": "+fault)
			}
			n++
		}
	}
	placed := 0
	for _, sh := range all.Sheets {
		placed += len(sh.Placed)
	}
	if placed != n || len(all.Jig.Parts) != n {
		return proof.Failed(c, fmt.Sprintf("the jobs have %d pieces, %d are cut and %d lie on the sheets", n, len(all.Jig.Parts), placed))
	}
	c.Text = fmt.Sprintf("%s of %s lie on the sheets once each, and bear their jobs' letters", figure.Count(n, "piece"), figure.Count(len(jobs), "job"))
	return c
}

// sharedFault is what is wrong with a job's piece; "" when nothing is.
func sharedFault(all, own post.Set, p jig.Part, alphabet []glyphRead) string {
	if !strings.HasPrefix(p.ID, own.Letter+"-") {
		return "its name does not begin with its job's letter, " + own.Letter
	}
	i := slices.IndexFunc(all.Jig.Parts, func(q jig.Part) bool { return q.ID == p.ID })
	if i < 0 {
		return "it is not among the pieces that are cut"
	}
	if !reflect.DeepEqual(all.Jig.Parts[i], p) {
		return "another piece is cut than the job has"
	}
	lies := func(s post.Set) (found []string) {
		for _, sh := range s.Sheets {
			for _, pl := range sh.Placed {
				if pl.ID == p.ID {
					found = append(found, fmt.Sprintf("sheet %d, %v", sh.N, pl.On))
				}
			}
		}
		return found
	}
	at := lies(all)
	if len(at) != 1 {
		return fmt.Sprintf("it lies on the sheets %d times", len(at))
	}
	if got := lies(own); !slices.Equal(got, at) {
		return fmt.Sprintf("its job has it at %v, and it is cut at %v", got, at)
	}
	if p.Role == jig.Plug && len(p.Letters) == 0 {
		return ""
	}
	if !bears(p.Letters, p.ID, alphabet) {
		return "its name is not lettered on it"
	}
	return ""
}

// glyphRead is a character as the alphabet's file has it: y grows downwards.
type glyphRead struct {
	left, right float64
	strokes     [][]geom.Point
}

// readAlphabet reads the file: each glyph has five columns of number, three of how many
// pairs follow, and the pairs, offset from the letter R, broken into lines anywhere; the
// first pair is its sides, " R" lifts the pen.
func readAlphabet(text string) []glyphRead {
	text = strings.NewReplacer("\r", "", "\n", "").Replace(text)
	var out []glyphRead
	for len(text) >= 8 {
		n, err := strconv.Atoi(strings.TrimSpace(text[5:8]))
		if err != nil || n < 1 || len(text) < 8+2*n {
			return out
		}
		body := text[8 : 8+2*n]
		text = text[8+2*n:]
		g := glyphRead{left: float64(body[0]) - 'R', right: float64(body[1]) - 'R'}
		var pen []geom.Point
		lift := func() {
			if len(pen) > 1 {
				g.strokes = append(g.strokes, pen)
			}
			pen = nil
		}
		for k := 2; k < len(body); k += 2 {
			if body[k:k+2] == " R" {
				lift()
				continue
			}
			pen = append(pen, geom.Point{X: float64(body[k]) - 'R', Y: float64(body[k+1]) - 'R'})
		}
		lift()
		out = append(out, g)
	}
	return out
}

// strokesRead is a text as strokes, in the alphabet's units, y upwards, beginning at from.
func strokesRead(text string, alphabet []glyphRead, from float64) (out [][]geom.Point) {
	x := from
	for _, r := range text {
		g := alphabet[r-' ']
		for _, s := range g.strokes {
			var one []geom.Point
			for _, p := range s {
				one = append(one, geom.Point{X: x + p.X - g.left, Y: -p.Y})
			}
			out = append(out, one)
		}
		x += g.right - g.left
	}
	return out
}

// bears reports whether a name stands among letters by itself: not behind "TO", which names
// a neighbour, and not as the beginning of a longer one.
func bears(letters []geom.Contour, name string, alphabet []glyphRead) bool {
	if len(alphabet) < 95 { // the printable characters, blank to tilde: it was not read whole
		return false
	}
	to := strokesRead("TO ", alphabet, 0)
	whole := strokesRead("TO "+name, alphabet, 0)
	want := whole[len(to):]
	for i := 0; i+len(want) <= len(letters); i++ {
		if !stands(letters[i:], want) || i >= len(to) && stands(letters[i-len(to):], whole) {
			continue
		}
		longer := false
		for d := '0'; d <= '9'; d++ {
			longer = longer || stands(letters[i:], strokesRead(name+string(d), alphabet, 0))
		}
		if !longer {
			return true
		}
	}
	return false
}

// readTol is how near the ends of a text's strokes must be to where the alphabet has them, mm.
const readTol = 0.01

// stands reports whether the chains begin with a text's strokes, turned, scaled and moved,
// never mirrored.
func stands(chains []geom.Contour, want [][]geom.Point) bool {
	if len(chains) < len(want) {
		return false
	}
	var got, is []geom.Point
	for i, w := range want {
		v := chains[i].Vertices()
		if len(v) != len(w) {
			return false
		}
		for k := range v {
			got, is = append(got, v[k].At), append(is, w[k])
		}
	}
	// The map is z -> a z + b as complex numbers, by the two points that are furthest apart.
	far := 0
	for k := range is {
		if is[k].Dist(is[0]) > is[far].Dist(is[0]) {
			far = k
		}
	}
	d, e := is[far].Sub(is[0]), got[far].Sub(got[0])
	square := d.Dot(d)
	if square == 0 {
		return false
	}
	re, im := d.Dot(e)/square, (d.X*e.Y-d.Y*e.X)/square
	for k := range is {
		v := is[k].Sub(is[0])
		x, y := got[0].X+re*v.X-im*v.Y, got[0].Y+im*v.X+re*v.Y
		if math.Hypot(got[k].X-x, got[k].Y-y) > readTol {
			return false
		}
	}
	return true
}
