package view

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	"spotjig/post"
)

// player is what the page's script is given: the cut order of every sheet.
type player struct {
	Process  string     `json:"process"`
	Start    [2]float64 `json:"start"`
	Parts    []string   `json:"parts"`
	Features []string   `json:"features"`
	Layers   []string   `json:"layers"`
	Sheets   []deck     `json:"sheets"`
}

// deck is one sheet's cut order. Lengths in mm, sheet frame; times in s.
type deck struct {
	N      int        `json:"n"`
	Size   [2]float64 `json:"size"`
	Travel []float64  `json:"travel,omitempty"` // xmin, ymin, xmax, ymax
	Known  bool       `json:"known"`
	Bounds []float64  `json:"bounds,omitempty"`
	Time   float64    `json:"time"`
	Cut    float64    `json:"cut"`
	Rapid  float64    `json:"rapid"`
	Pieces [][]any    `json:"pieces"` // index, x, y, turn, scale
	Ops    []op       `json:"ops"`
}

// op is one operation as a short list: layer, part, feature, power, length,
// time of the travel to it, time of the cut, path data, and for a knife the
// stretches that are lifted, as fractions of the length.
type op []any

// newPlayer gathers the cut order; letters says whether lettering is in it.
func newPlayer(sc *scene, letters bool) player {
	start := sc.set.Machine.StandsAt()
	d := player{Process: string(sc.set.Machine.Process), Start: [2]float64{round(start.X, 3), round(start.Y, 3)}, Sheets: []deck{}, Features: []string{}, Parts: []string{}}
	for l := path.Lettering; l <= path.Outline; l++ {
		d.Layers = append(d.Layers, l.String())
	}
	for _, p := range sc.pieces {
		d.Parts = append(d.Parts, clean(p.ID))
	}
	feature := map[string]int{}
	for _, s := range sc.set.Sheets {
		k := newDeck(sc, s)
		for _, o := range s.Path.Ops {
			if !isShown(o, letters) {
				continue
			}
			f := clean(o.Feature)
			n, ok := feature[f]
			if !ok {
				n = len(d.Features)
				feature[f] = n
				d.Features = append(d.Features, f)
			}
			k.Ops = append(k.Ops, newOp(o, n, sc.indexOf(o.Part)))
		}
		takeTimes(s, k.Ops, letters)
		d.Sheets = append(d.Sheets, k)
	}
	return d
}

func newDeck(sc *scene, s post.Sheet) deck {
	k := deck{N: s.N, Size: [2]float64{s.Width, s.Height}, Time: round(s.Time, 1), Cut: round(s.CutLen, 1), Rapid: round(s.TravelLen, 1),
		Pieces: [][]any{}, Ops: []op{}}
	if t, known := sc.travel(); !t.IsEmpty() {
		k.Travel, k.Known = flat(t), known
	}
	if !s.Bounds.IsEmpty() && s.Bounds.Width() > 0 {
		k.Bounds = flat(s.Bounds)
	}
	for _, p := range s.Placed {
		if i, ok := sc.index[p.ID]; ok {
			scale := sc.pieces[i].Scale
			if scale == 0 {
				scale = 1
			}
			k.Pieces = append(k.Pieces, []any{i, round(p.On.X, 3), round(p.On.Y, 3), p.On.Turn.Degrees(), scale})
		}
	}
	return k
}

// newOp draws one operation's moves as a path.
func newOp(o path.Op, feature, part int) op {
	p := pen{decimals: coarse, relative: true}
	p.move(o.Moves[0].From)
	total := 0.0
	for _, m := range o.Moves {
		p.segment(m.Segment)
		total += m.Length()
	}
	out := op{int(o.Layer), part, feature, o.Power, round(total, 2), 0.0, 0.0, p.b.String()}
	var lifted []float64
	at := 0.0
	for _, m := range o.Moves {
		l := m.Length()
		if m.Lift && total > 0 {
			lifted = append(lifted, round(at/total, 4), round((at+l)/total, 4))
		}
		at += l
	}
	if lifted != nil {
		out = append(out, lifted)
	}
	return out
}

// Places of the times in an op.
const (
	opTravelTime = 5
	opCutTime    = 6
)

// takeTimes gives the operations that are shown their times, and those of what is left out
// to the travel that follows. The way home at the end is not shown.
func takeTimes(s post.Sheet, shown []op, letters bool) {
	before, n := 0.0, 0
	for i, o := range s.Path.Ops {
		travel, work := s.Took(i)
		before += travel
		if !isShown(o, letters) {
			before += work
			continue
		}
		shown[n][opTravelTime], shown[n][opCutTime] = round(before, 4), round(work, 4)
		before, n = 0, n+1
	}
}

// isShown reports whether an operation is in the show.
func isShown(o path.Op, letters bool) bool {
	return len(o.Moves) > 0 && (letters || o.Layer != path.Lettering)
}

func (sc *scene) indexOf(part string) int {
	if i, ok := sc.index[part]; ok {
		return i
	}
	return -1
}

func round(v float64, decimals int) float64 {
	k := math.Pow(10, float64(decimals))
	r := math.Round(v*k) / k
	if math.IsNaN(r) || math.IsInf(r, 0) || r == 0 {
		return 0
	}
	return r
}

func flat(b geom.Box) []float64 {
	return []float64{round(b.Min.X, 3), round(b.Min.Y, 3), round(b.Max.X, 3), round(b.Max.Y, 3)}
}

// encode returns the data as JSON that is safe inside a script element: the
// encoder writes <, > and & as escapes.
func (d player) encode() []byte {
	b, err := json.Marshal(d)
	if err != nil {
		panic(fmt.Sprintf("view: internal error: %v", err))
	}
	return b
}

// hasProgram reports whether there is a cut order to show.
func hasProgram(set post.Set) bool {
	if set.Machine.Process == machine.Shop {
		return false
	}
	return slices.ContainsFunc(set.Sheets, func(s post.Sheet) bool { return len(s.Path.Ops) > 0 })
}
