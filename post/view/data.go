package view

import (
	"encoding/json"
	"fmt"
	"math"

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
	d := player{Process: string(sc.set.Machine.Process), Start: [2]float64{round(sc.start().X, 3), round(sc.start().Y, 3)}, Sheets: []deck{}, Features: []string{}, Parts: []string{}}
	for l := path.Lettering; l <= path.Outline; l++ {
		d.Layers = append(d.Layers, l.String())
	}
	for _, p := range sc.set.Jig.Parts {
		d.Parts = append(d.Parts, clean(p.ID))
	}
	feature := map[string]int{}
	for _, s := range sc.set.Sheets {
		k := newDeck(sc, s)
		for _, o := range s.Path.Ops {
			if len(o.Moves) == 0 || !letters && o.Layer == path.Lettering {
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
		shareTime(sc, s, k.Ops)
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
			scale := sc.set.Jig.Parts[i].Scale
			if scale == 0 {
				scale = 1
			}
			k.Pieces = append(k.Pieces, []any{i, round(p.On.X, 3), round(p.On.Y, 3), p.On.TurnDeg, scale})
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

// shareTime deals the sheet's estimated time out to the operations, travel to
// each included, in proportion to length over feed: the sum is the record's
// time. What is left out of the show gives its time to the travel that follows.
func shareTime(sc *scene, s post.Sheet, shown []op) {
	all := 0
	total := 0.0
	for _, o := range s.Path.Ops {
		if len(o.Moves) > 0 {
			all++
		}
	}
	skipped := all != len(shown)
	last := sc.start()
	travel, n := 0.0, 0
	for _, o := range s.Path.Ops {
		if len(o.Moves) == 0 {
			continue
		}
		if r := float64(sc.set.Machine.RapidMax); r > 0 {
			travel += last.Dist(o.Moves[0].From) / r
		}
		last = o.Moves[len(o.Moves)-1].To
		cut := cutTime(o)
		if skipped && o.Layer == path.Lettering {
			travel += cut
			continue
		}
		shown[n][opTravelTime], shown[n][opCutTime] = travel, cut
		total += travel + cut
		travel, n = 0, n+1
	}
	if total == 0 {
		return
	}
	for _, o := range shown {
		for _, i := range []int{opTravelTime, opCutTime} {
			o[i] = round(o[i].(float64)/total*s.Time, 4)
		}
	}
}

// start is where the head stands before a program, sheet frame: where the
// profile parks it, else the work zero.
func (sc *scene) start() geom.Point {
	m := sc.set.Machine
	if m.Park == nil {
		return geom.Point{}
	}
	return geom.Point{X: m.Park.X - m.Offsets[1].X, Y: m.Park.Y - m.Offsets[1].Y}
}

// cutTime is an operation's length over feed, s.
func cutTime(o path.Op) float64 {
	t := 0.0
	for _, m := range o.Moves {
		if m.Feed > 0 {
			t += m.Length() / float64(m.Feed)
		}
	}
	return t
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
	for _, s := range set.Sheets {
		if len(s.Path.Ops) > 0 {
			return true
		}
	}
	return false
}
