package testpiece

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// Grid is squares cut and scored at stepped power and feed: the place to look for
// settings before anything else is cut. It lies on any offcut as large as its
// box, and is no piece of anything: what falls out is waste.
type Grid struct {
	Width, Height float64        // of the offcut it needs, sheet frame
	Letters       []geom.Contour // open chains
	Squares       []GridSquare   // in cutting order: scores first, each kind the mildest first
}

// GridSquare is one square of the grid, sheet frame.
type GridSquare struct {
	Name    string // "S400 F720", power and feed as the program has them
	Through bool   // cut through; else a score
	Outline geom.Contour
	Setting machine.Setting
}

// Measures of a grid, mm.
const (
	gridSide  = 8.0
	gridPitch = 14.0
	gridLabel = 15.0 // kept for the powers beside, and half of it for the feeds above
)

// NewGrid designs a power and feed grid round the job's settings for cutting and
// scoring, no power above the material's cap or the machine's full scale, no feed above
// what the machine reaches. A bed too small for it is a *SizeError.
func NewGrid(req jig.Request) (Grid, error) {
	c := &design{req: req, lim: jig.LimitsFor(req), font: jig.NewFont()}
	c.chooseStock()
	m := req.Material
	full := req.Machine.PowerScale
	if m.PowerCap > 0 {
		full = math.Min(full, m.PowerCap)
	}
	var out Grid
	at := c.usable.Min
	for _, k := range []struct {
		title   string
		through bool
		powers  []float64
		set     machine.Setting
	}{
		{"SCORE", false, scaled(m.Score.Power, []float64{0.4, 0.7, 1, 1.4, 2}, full), m.Score},
		{"CUT", true, scaled(full, []float64{0.4, 0.55, 0.7, 0.85, 1}, full), m.Cut},
	} {
		feeds := scaled(k.set.Feed.PerMinute(), []float64{2, 1.4, 1, 0.7, 0.5}, req.Machine.FeedMax.PerMinute())
		w := gridLabel + gridPitch*float64(len(feeds))
		h := gridLabel + gridPitch*float64(len(k.powers))
		if at.X+w > c.usable.Max.X+1e-6 { // not beside: above
			at = geom.Point{X: c.usable.Min.X, Y: out.Height}
		}
		if at.X+w > c.usable.Max.X+1e-6 || at.Y+h > c.usable.Max.Y+1e-6 {
			return Grid{}, &jig.SizeError{Piece: "the grid of " + k.title + " settings", NeedW: w, NeedH: at.Y + h - c.usable.Min.Y, UsableW: c.usable.Width(), UsableH: c.usable.Height(),
				Reason: "use a larger sheet"}
		}
		c.gridBlock(&out, gridBlock{at: at, title: k.title, through: k.through, powers: k.powers, feeds: feeds})
		out.Width, out.Height = math.Max(out.Width, at.X+w), math.Max(out.Height, at.Y+h)
		at.X += w
	}
	out.Width, out.Height = math.Ceil(out.Width+c.usable.Min.X), math.Ceil(out.Height+c.usable.Min.Y)
	return out, nil
}

// gridBlock is a table of squares: powers upwards, feeds to the right.
type gridBlock struct {
	at            geom.Point
	title         string
	through       bool
	powers, feeds []float64 // S words; mm/min
}

// scaled multiplies a setting by each factor, keeps it at or below the limit, rounds
// it as people write it, and drops what comes out twice.
func scaled(v float64, by []float64, limit float64) []float64 {
	var out []float64
	for _, k := range by {
		x := math.Min(v*k, limit)
		grain := math.Pow(10, math.Floor(math.Log10(x))-1)
		x = math.Min(math.Round(x/grain)*grain, limit)
		if n := len(out); n == 0 || math.Abs(out[n-1]-x) > 1e-9 {
			out = append(out, x)
		}
	}
	return out
}

func (c *design) gridBlock(g *Grid, b gridBlock) {
	text := func(s string, at geom.Point, high, room float64) {
		g.Letters = append(g.Letters, c.strokes(s, at, high, room)...)
	}
	top := b.at.Y + gridPitch*float64(len(b.powers))
	text(b.title, geom.Point{X: b.at.X, Y: top + 9}, jig.SmallHigh, gridLabel+gridPitch*2)
	text("F", geom.Point{X: b.at.X + gridLabel - 5, Y: top + 2}, jig.LeastHigh, 4)
	for k, f := range b.feeds {
		text(fmt.Sprintf("%.0f", f), geom.Point{X: b.at.X + gridLabel + gridPitch*float64(k), Y: top + 2}, jig.LeastHigh+0.4, gridPitch-2)
	}
	for i, s := range b.powers {
		y := b.at.Y + gridPitch*float64(i)
		text(fmt.Sprintf("S%.4g", s), geom.Point{X: b.at.X, Y: y + gridSide/2 - 1}, jig.LeastHigh+0.4, gridLabel-2)
		for k, f := range b.feeds {
			lo := geom.Point{X: b.at.X + gridLabel + gridPitch*float64(k), Y: y}
			g.Squares = append(g.Squares, GridSquare{Name: fmt.Sprintf("S%.4g F%.0f", s, f), Through: b.through,
				Outline: geom.Rect(geom.Box{Min: lo, Max: lo.Add(geom.Vec{X: gridSide, Y: gridSide})}),
				Setting: machine.Setting{Power: s, Feed: machine.FeedPerMinute(f), Passes: 1}})
		}
	}
}
