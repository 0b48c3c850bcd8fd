package layout

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/screen"
)

// Do the balls fit? With balls of diameter d the rows of a tight triangle are
// d·sqrt(3)/2 apart. The first red stands as near the pink as it can without
// touching, its centre d behind pink's, so the back row of n lies
// d + (n-1)·d·sqrt(3)/2 behind pink. A row of an odd number has a ball on the
// centre line, straight before the black; a row of an even number straddles it,
// its middle pair half a ball to either side.
//
// Worked example, 100 x 50 in with 57.15 mm balls and black at a eleventh: pink
// lies 635 mm from the top nose, black 230.9, so they are 404.1 apart. Fifteen
// reds need d + 4·49.49 + d = 312.3, and 91.8 mm is left between the back row
// and the black.

// BallFit says whether the chosen balls fit the table's marks, mm.
type BallFit struct {
	Ball float64 `json:"ball_mm"`
	Wall float64 `json:"rack_wall_mm"`
	Reds int     `json:"reds"`

	Snooker *SnookerFit `json:"snooker,omitempty"`
	Rack    *PoolRack   `json:"rack,omitempty"`
}

// SnookerFit is what the balls leave between snooker's marks, mm.
type SnookerFit struct {
	PinkToBlack float64 `json:"pink_to_black_mm"` // centre to centre
	BlackToNose float64 `json:"black_to_nose_mm"` // spot to top nose
	BehindBlack float64 `json:"behind_black_mm"`  // black's far side to the top nose
	BallPasses  bool    `json:"ball_passes_behind_black"`
	CueReaches  bool    `json:"cue_reaches_behind_black"`
	DWidth      float64 `json:"d_width_mm"`
	DWidthBalls float64 `json:"d_width_balls"`
	ApexToPink  float64 `json:"apex_to_pink_mm"` // centre to centre, just not touching
	Racks       []Rack  `json:"racks"`
	Fits        bool    `json:"fits"` // the chosen number of reds
	Recommend   int     `json:"recommend_reds"`
	Advice      string  `json:"advice"`
	LargestBall float64 `json:"largest_ball_mm"` // for the chosen number of reds
}

// Rack is one number of reds in a triangle behind the pink, mm.
type Rack struct {
	Reds     int     `json:"reds"`
	Rows     int     `json:"rows"`
	Depth    float64 `json:"depth_mm"`     // front of the first ball to back of the last row
	Width    float64 `json:"width_mm"`     // of the back row
	Gap      float64 `json:"gap_mm"`       // back row to black along the table; below 0 they overlap along it
	Clear    float64 `json:"clear_mm"`     // nearest red to black; below 0 they do not fit
	WallRoom float64 `json:"wall_room_mm"` // what the triangle's wall leaves before the black
	Fits     bool    `json:"fits"`
	WallFits bool    `json:"wall_fits"`
	Largest  float64 `json:"largest_ball_mm"` // that still fits
}

// PoolRack is the fifteen-ball triangle on the foot spot, mm.
type PoolRack struct {
	Depth      float64 `json:"depth_mm"`        // of the balls
	Width      float64 `json:"width_mm"`        // of the back row
	Side       float64 `json:"side_mm"`         // of the outline, wall included
	BaseToNose float64 `json:"base_to_nose_mm"` // the outline's back edge to the foot nose
	SideToNose float64 `json:"side_to_nose_mm"` // its corner to the nearer side nose
	Fits       bool    `json:"fits"`
}

const (
	// redsDefault is a full triangle.
	redsDefault = 15
	// cueTip is what a cue needs behind a ball, mm: the shaft behind the tip.
	// From memory; cues of 9 to 13 mm are common.
	cueTip = 13
	// snug: a fit by less than this takes care to set up, mm. Common practice:
	// what a worn spot and a ball's tolerance move.
	snug = 5
)

// UsualBalls is the set that games are played with: the balls of the first game, but
// pool's whenever pool is among them, which is what is on such a table whatever is
// marked on it; and the most reds that one of them sets up, a full triangle where none does.
func UsualBalls(games []string) Balls {
	b := Balls{}
	for _, id := range games {
		g, known := gameNamed(id)
		if known && (b.Diameter == 0 || id == "pool") {
			b.Diameter = g.Ball
		}
		b.Reds = max(b.Reds, g.Reds)
	}
	if b.Diameter == 0 {
		b.Diameter = poolBall
	}
	if b.Reds == 0 {
		b.Reds = redsDefault
	}
	return b
}

// FitBalls reckons whether the balls fit between the marks of a job. A job
// without snooker has no SnookerFit and one without pool no Rack.
func FitBalls(r Request) (BallFit, error) {
	if r.Balls.Diameter == 0 {
		r.Balls.Diameter = poolBall
	}
	if r.Balls.Reds == 0 {
		r.Balls.Reds = UsualBalls(r.Games).Reds
	}
	p, err := NewPlan(r)
	if err != nil {
		return BallFit{}, err
	}
	out := BallFit{Ball: r.Balls.Diameter, Wall: r.Balls.RackWall, Reds: r.Balls.Reds}
	g := groundOf(r.Table, r.Balls)
	if pink, ok := p.Mark("pink"); ok {
		black, _ := p.Mark("black")
		d, _ := p.Mark("d")
		out.Snooker = snookerFit(r.Balls, math.Hypot(pink.X-black.X, pink.Y-black.Y), g.fromFoot(black.X, black.Y), d.Radius)
	}
	if slices.Contains(r.Games, "pool") {
		out.Rack = poolRack(r.Balls, g)
	}
	return out, nil
}

// Mark returns the mark that has the id or answers to it.
func (p Plan) Mark(id string) (Mark, bool) {
	for _, m := range p.Marks {
		if m.ID == id {
			return m, true
		}
		for _, a := range m.Also {
			if a == id {
				return m, true
			}
		}
	}
	return Mark{}, false
}

// rackOf reckons one number of rows behind the pink.
func rackOf(rows int, b Balls, pinkToBlack float64) Rack {
	d, pitches := b.Diameter, float64(rows-1)*sqrt3/2
	back := pinkToBlack - d - pitches*d // back row's centres to black's
	r := Rack{Reds: rows * (rows + 1) / 2, Rows: rows, Depth: pitches*d + d, Width: float64(rows) * d, Gap: back - d}
	r.Largest = pinkToBlack / (1 + pitches + 1)
	r.Clear = r.Gap
	if rows%2 == 0 {
		r.Largest = pinkToBlack / (1 + pitches + sqrt3/2)
		r.Clear = math.Hypot(back, d/2) - d
		if back < 0 {
			r.Clear = back - d
		}
	}
	r.WallRoom = r.Gap - b.RackWall
	r.Fits, r.WallFits = r.Clear >= 0, r.WallRoom >= 0
	return r
}

// snookerFit reckons what the balls leave between snooker's marks.
func snookerFit(b Balls, pinkToBlack, blackToNose, dRadius float64) *SnookerFit {
	s := &SnookerFit{PinkToBlack: pinkToBlack, BlackToNose: blackToNose, BehindBlack: blackToNose - b.Diameter/2,
		DWidth: 2 * dRadius, DWidthBalls: 2 * dRadius / b.Diameter, ApexToPink: b.Diameter}
	s.BallPasses, s.CueReaches = s.BehindBlack >= b.Diameter, s.BehindBlack >= cueTip
	for _, rows := range []int{5, 4, 3} {
		r := rackOf(rows, b, pinkToBlack)
		s.Racks = append(s.Racks, r)
		if r.Fits && s.Recommend == 0 {
			s.Recommend = r.Reds
		}
		if r.Reds == b.Reds {
			s.Fits, s.LargestBall = r.Fits, r.Largest
		}
	}
	s.Advice = s.advice(b)
	return s
}

// advice is the plain recommendation and its reason.
func (s *SnookerFit) advice(b Balls) string {
	var full, best Rack
	for _, r := range s.Racks {
		if r.Reds == b.Reds {
			full = r
		}
		if r.Reds == s.Recommend {
			best = r
		}
	}
	switch {
	case s.Recommend == 0:
		return fmt.Sprintf("no triangle of reds fits between pink and black, %s apart, with %s balls: mark the table for another game", figure.MM(s.PinkToBlack), figure.MM(b.Diameter))
	case full.Reds == 0:
		return fmt.Sprintf("%d reds is not a triangle of three, four or five rows; %d reds fit", b.Reds, s.Recommend)
	case !full.Fits:
		return fmt.Sprintf("play %d reds: %d overlap the black by %s, %d leave %s; smaller balls are the wrong cure, the pockets stay the same size",
			best.Reds, full.Reds, figure.MM(-full.Clear), best.Reds, figure.MM(best.Clear))
	case !full.WallFits:
		return fmt.Sprintf("%d reds fit by %s, less than the triangle's wall of %s: lift the triangle before the black is spotted", full.Reds, figure.MM(full.Clear), figure.MM(b.RackWall))
	case full.Clear < snug:
		return fmt.Sprintf("%d reds fit, but only by %s: set the triangle with care, or play fewer reds", full.Reds, figure.MM(full.Clear))
	}
	return fmt.Sprintf("%d reds fit, with %s between the back row and the black", full.Reds, figure.MM(full.Clear))
}

// poolRack reckons the fifteen-ball triangle on the foot spot.
func poolRack(b Balls, g ground) *PoolRack {
	d, t := b.Diameter, b.RackWall
	r := &PoolRack{Depth: (2*sqrt3 + 1) * d, Width: 5 * d, Side: (4+sqrt3)*d + 2*sqrt3*t}
	r.BaseToNose = g.l/4 - (2*sqrt3+0.5)*d - t
	r.SideToNose = g.w/2 - r.Side/2
	r.Fits = r.BaseToNose >= 0 && r.SideToNose >= 0
	return r
}

// WriteBalls prints the ball fit as a table for people.
func WriteBalls(w io.Writer, f BallFit, look screen.Look) error {
	var b strings.Builder
	fmt.Fprintf(&b, "balls of %s", figure.Length(f.Ball))
	if f.Wall > 0 {
		fmt.Fprintf(&b, ", triangle wall %s", figure.MM(f.Wall))
	}
	b.WriteString("\n")
	if s := f.Snooker; s != nil {
		writeSnookerFit(&b, *s, f.Reds, look)
	}
	if r := f.Rack; r != nil {
		fits := "fits"
		if !r.Fits {
			fits = "does not fit"
		}
		fmt.Fprintf(&b, "\npool triangle, 15 balls: %s deep, back row %s wide, outline side %s\n", figure.MM(r.Depth), figure.MM(r.Width), figure.MM(r.Side))
		fmt.Fprintf(&b, "  back edge to foot nose %s, corner to side nose %s: %s\n", figure.MM(r.BaseToNose), figure.MM(r.SideToNose), fits)
	}
	if f.Snooker == nil && f.Rack == nil {
		b.WriteString("no game of this job racks balls between its marks\n")
	}
	_, err := io.WriteString(w, folded(b.String(), look))
	return err
}

// Verdict says in words whether the rack fits.
func (r Rack) Verdict() string {
	switch {
	case !r.Fits:
		return "does not fit"
	case !r.WallFits:
		return "fits, the triangle's wall does not"
	}
	return "fits"
}

// writeSnookerFit prints the snooker part.
func writeSnookerFit(b *strings.Builder, s SnookerFit, reds int, look screen.Look) {
	fmt.Fprintf(b, "\nsnooker: pink to black %s; D %s wide, %s balls\n", figure.MM(s.PinkToBlack), figure.MM(s.DWidth), figure.Fixed(s.DWidthBalls, 1))
	fmt.Fprintf(b, "  first red's centre to pink's %s, just not touching\n", figure.MM(s.ApexToPink))
	fmt.Fprintf(b, "  behind the black to the top nose %s: a ball passes: %s, a cue reaches: %s\n", figure.MM(s.BehindBlack), figure.YesNo(s.BallPasses), figure.YesNo(s.CueReaches))
	rows := [][]string{{"reds", "depth", "width", "gap to black", "wall leaves", "largest ball", "verdict"}}
	for _, r := range s.Racks {
		rows = append(rows, []string{strconv.Itoa(r.Reds), figure.MM(r.Depth), figure.MM(r.Width), figure.MM(r.Clear), figure.MM(r.WallRoom), figure.MM(r.Largest), r.Verdict()})
	}
	b.WriteString("\n" + laidOut(rows, look))
	fmt.Fprintf(b, "\nchosen %d reds; recommended: %s\n", reds, s.Advice)
}
