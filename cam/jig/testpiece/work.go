package testpiece

import (
	"fmt"
	"math"
	"slices"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// What readings are held to.
const (
	// handPM: how well one caliper reading repeats in practised hands, mm; common
	// practice. It counts only where a reading was taken once.
	handPM = 0.02
	// scatterMax: repeats of one size that differ more than this were not all
	// readings of it, mm: several times what a hand spreads.
	scatterMax = 0.15
	// scaleUnread: parts per million, plus or minus, that a machine nobody has
	// measured is taken to be off; common practice, and what the jig's error budget
	// takes too.
	scaleUnread = 100.0
	// kerfTol: rounding of a kerf that is exactly at its limit, mm.
	kerfTol = 1e-9
	// beyond: standard uncertainties past which two figures disagree (99.7 %).
	beyond = 3.0
	// shutMost: shoulders further open than this, mm, were not shut, and a key that leaves
	// more beside its tail is not home: grit, or a hand that does not press.
	shutMost = 0.2
	// besideOff: how much more or less than drawn may be left beside a dovetail's flank
	// with the kerf as found, mm: leaning walls, and leaves that come in steps of a twentieth.
	besideOff = 0.1
	// leafLeast: the thinnest leaf there is, mm; no smaller slip is reported.
	leafLeast = 0.01
)

// Findings is what the readings of a test piece show.
type Findings struct {
	Cut               Cut
	Thickness         Estimate // mm
	ThicknessRead     bool
	Kerf              Estimate    // at the exit face, mm: what material.kerf wants
	KerfXY            [2]Estimate // by the comb along x and along y; PM 0: not read
	Beam              Estimate    // at the beam face; PM 0: not read
	TaperDeg          Estimate    // each wall
	ScaleX, ScaleY    Estimate    // parts per million the machine cuts large
	Skew              Estimate    // µm a metre out of square
	ScaleRead, SkewOK bool
	Slots             []SlotFinding
	Flank             float64 // true clearance of the socket that fits, mm a flank
	FlankDrawn        float64
	FlankRead         bool
	Closure           float64 // a shut joint's shoulders stay open by less, mm
	ClosureRead       bool
	Slip              float64 // left beside its tail, square to a flank, with the kerf as found
	SlipRead          bool
	SquareRead        [2]Estimate // PM 0: not read
	SquareWanted      [2]float64  // by the kerf and the scale found
}

// SlotFinding is one fit, mm.
type SlotFinding struct {
	Name, Letter string
	Width        float64 // as it came out: drawn, and what the kerf was more than allowed for
	Clearance    float64 // of that, more than the sheet's thickness
	Nearest      Fit     // the job's word that comes nearest
}

// Work turns readings into kerf, taper, fits and the machine's scale. The error is a
// problem.List of readings that cannot be true; the notes are about readings that can.
func (r Readings) Work() (Findings, problem.List, error) {
	w := couponWork{r: r, out: Findings{Cut: r.Cut}}
	for i, key := range [2]string{"comb_x", "comb_y"} {
		w.together(w.r.fields, key, r.Comb[i])
		w.together(w.r.fields, key+"_turned", r.Turned[i])
	}
	w.together(r.fields, "square_x", r.Square[0])
	w.together(r.fields, "square_y", r.Square[1])
	if len(r.Comb[0])+len(r.Comb[1]) == 0 {
		r.fields.Fault("comb_x", "M032", "no comb was measured, so there is no kerf", "push the pieces of a comb together and write what they measure: comb_x: [129.10, 129.11]")
	}
	w.scale()
	w.thickness()
	if len(*r.faults) == 0 {
		w.kerf()
	}
	if len(*r.faults) == 0 {
		w.fits()
		w.joint()
		w.square()
	}
	return w.out, w.notes, r.faults.Err()
}

// couponWork carries one piece of work.
type couponWork struct {
	r     Readings
	out   Findings
	notes problem.List
}

func (w *couponWork) note(key, code, msg, help string) {
	w.notes.Add(w.r.fields.Problem(key, code, msg, help))
}

// together refuses repeats that are not of one size.
func (w *couponWork) together(f *job.Fields, key string, v []float64) {
	if len(v) < 2 {
		return
	}
	if lo, hi := slices.Min(v), slices.Max(v); hi-lo > scatterMax {
		f.Fault(key, "M031", fmt.Sprintf("readings of one size from %.2f to %.2f mm, %.2f mm apart; more than %.2f mm", lo, hi, hi-lo, scatterMax),
			"clean the edges of crumbs and film, push the pieces close and read again")
	}
}

// thickness takes the readings, else the job's figure.
func (w *couponWork) thickness() {
	w.out.Thickness = Estimate{Value: w.r.Cut.Thickness}
	if len(w.r.Thickness) > 0 {
		v, u := w.r.Caliper.mean(w.r.Thickness, handPM)
		w.out.Thickness, w.out.ThicknessRead = estimate(v, u), true
	}
}

// scales returns how large the machine cuts along an axis, as a share, with its
// standard uncertainty.
func (w *couponWork) scales(axis int) (share, u float64) {
	if !w.out.ScaleRead {
		return 0, ppm * scaleUnread / math.Sqrt(3)
	}
	e := [2]Estimate{w.out.ScaleX, w.out.ScaleY}[axis]
	return ppm * e.Value, ppm * e.u()
}

// kerf works out both combs and takes their mean. Its uncertainty holds both and
// half of what they differ, because a template has cuts in both directions.
func (w *couponWork) kerf() {
	var at [2][]Estimate // wider face, other face
	for axis, key := range [2]string{"comb_x", "comb_y"} {
		if len(w.r.Comb[axis]) == 0 {
			if len(w.r.Turned[axis]) > 0 {
				w.r.fields.Fault(key, "J003", "the comb was read turned over only", "read it with all letters up as well")
			}
			continue
		}
		wide, other, ok := w.comb(axis, key)
		if !ok {
			continue
		}
		at[0] = append(at[0], wide)
		if other.PM > 0 {
			at[1] = append(at[1], other)
		}
		exit := wide
		if w.r.WiderAtExit {
			exit = other
		}
		w.out.KerfXY[axis] = exit
	}
	// Pieces are wide where the kerf is narrow: the exit face, but for a beam that
	// cuts wider below.
	exit, beam := at[0], at[1]
	if w.r.WiderAtExit {
		exit, beam = at[1], at[0]
	}
	if len(exit) == 0 && len(*w.r.faults) == 0 {
		w.r.fields.Fault("kerf_wider_at", "M032", "with the kerf wider at the exit face the turned combs tell it, and none was read",
			"turn every other piece over and write comb_x_turned, comb_y_turned")
		return
	}
	w.out.Kerf, w.out.Beam = middle(exit), middle(beam)
	if len(exit) == 1 {
		w.note("comb_x", "M035", "one comb only was read; the kerf may differ between cuts along x and along y", "read both combs")
	}
	if w.out.Beam.PM > 0 && w.out.Thickness.Value > 0 {
		b, e, t := w.out.Beam, w.out.Kerf, w.out.Thickness.Value
		w.out.TaperDeg = estimate(TaperDeg(b.Value, e.Value, t), geom.Angle(math.Hypot(b.u(), e.u())/2/t).Degrees())
	}
}

// comb works one comb out: the kerf where the pieces are wider, and at the other
// face (PM 0 when it was not read turned).
func (w *couponWork) comb(axis int, key string) (wide, other Estimate, ok bool) {
	c, f := w.r.Cut, w.r.fields
	m, um := w.r.Caliper.mean(w.r.Comb[axis], handPM)
	s, us := w.scales(axis)
	n, long := float64(c.Pieces), c.Comb*(1+s)
	k := CombKerf(c.Pieces, long, m)
	if k < machine.KerfMin-kerfTol || k > machine.KerfMax+kerfTol {
		f.Fault(key, "M030", fmt.Sprintf("%.2f mm of %g mm makes a kerf of %.3f mm; kerfs are %g to %g mm", m, c.Comb, k, machine.KerfMin, machine.KerfMax),
			fmt.Sprintf("count %d pieces of one comb, push them close and read again", c.Pieces))
		return wide, other, false
	}
	wide = estimate(k, math.Hypot(um, long*us)/n)
	if len(w.r.Comb[axis]) == 1 {
		w.note(key, "M036", "one reading only; how well it repeats is assumed, "+fmt.Sprintf("plus or minus %.2f mm", handPM), "take three or more and write them between brackets")
	}
	if len(w.r.Turned[axis]) == 0 {
		return wide, other, true
	}
	t, ut := w.r.Caliper.mean(w.r.Turned[axis], handPM)
	if t > m+beyond*math.Hypot(um, ut) {
		f.Fault(key+"_turned", "M033", fmt.Sprintf("%.2f mm with every other piece turned over is more than the %.2f mm all one way up, which cannot be", t, m),
			"leave the first piece as it is, turn the second, fourth and so on over, push close and read again")
		return wide, other, false
	}
	b := CombKerfTurned(c.Pieces, long, m, t)
	if b > machine.KerfMax+kerfTol {
		f.Fault(key+"_turned", "M033", fmt.Sprintf("%.2f mm makes a kerf of %.3f mm at the other face; kerfs are %g to %g mm", t, b, machine.KerfMin, machine.KerfMax),
			"turn every other piece over end for end, push close and read again")
		return wide, other, false
	}
	ub := math.Hypot(2*ut/(n-1), um*(n+1)/(n*(n-1)))
	return wide, estimate(b, math.Hypot(ub, long*us/n)), true
}

// middle is the mean of one or two estimates of one kerf. Its uncertainty is the
// larger of theirs, and half of what they differ.
func middle(e []Estimate) Estimate {
	switch len(e) {
	case 0:
		return Estimate{}
	case 1:
		return e[0]
	}
	return Estimate{(e[0].Value + e[1].Value) / 2, math.Max(e[0].PM, e[1].PM) + math.Abs(e[0].Value-e[1].Value)/2}
}

// fits turns letters and numbers into clearances. Drawn w, an opening comes out
// w + (kerf - kerf allowed for) wide; a tail and its socket both differ, so
// that their flanks gain the whole difference.
func (w *couponWork) fits() {
	c := w.r.Cut
	more := w.out.Kerf.Value - c.Kerf
	last := math.Inf(-1)
	for _, name := range fitWords() {
		letter := w.r.FitSlots[name]
		drawn, ok := c.slotWidth(letter)
		if !ok {
			continue
		}
		if drawn < last-1e-9 {
			w.r.fields.Fault("slot_"+name, "M037", "slot "+letter+" is narrower than the one named for a tighter fit", "press is the tightest, loose the widest: try the tongue again")
		}
		last = drawn
		width := drawn + more
		s := SlotFinding{Name: name, Letter: letter, Width: width, Clearance: width - w.out.Thickness.Value}
		for i, f := range c.Fits {
			if i == 0 || math.Abs(f.Clearance-s.Clearance) < math.Abs(s.Nearest.Clearance-s.Clearance)-1e-9 {
				s.Nearest = f
			}
		}
		w.out.Slots = append(w.out.Slots, s)
	}
	if i := w.r.Socket - 1; i >= 0 && i < len(c.Flanks) {
		w.out.FlankRead, w.out.FlankDrawn, w.out.Flank = true, c.Flanks[i], c.Flanks[i]+more
	}
}

// joint turns the leaves that did not go in into bounds of the gaps at shoulders and flanks. A
// gap is smaller than any leaf that does not go in; of several readings the thickest counts.
// A dovetail is read with the play of both flanks on one side, cut with the kerf that the job
// allowed for: once the job states the kerf found, each flank has less play by the difference
// of the two. A key takes up whatever the kerf leaves.
func (w *couponWork) joint() {
	c, f := w.r.Cut, w.r.fields
	for i, side := range [2]string{"left", "right"} {
		for _, leaf := range w.r.Shoulders[i] {
			w.out.Closure, w.out.ClosureRead = math.Max(w.out.Closure, leaf), true
		}
		if w.out.Closure > shutMost {
			f.Fault("joint_"+side, "M039", fmt.Sprintf("the shoulders of a shut joint are less than %g mm open, not %.2f", shutMost, w.out.Closure),
				"brush crumbs off, press the joint shut and read again, or leave it empty")
			return
		}
	}
	if len(w.r.Beside) == 0 {
		return
	}
	wide := slices.Max(w.r.Beside)
	left, want, limit := wide, 0.0, shutMost
	if !c.Keyed {
		left, want, limit = wide/2-(w.out.Kerf.Value-c.Kerf), c.Flank, besideOff
	}
	if math.Abs(left-want) > limit {
		f.Fault("joint_flank", "M039", fmt.Sprintf("%.2f mm beside the tail make %.2f mm a flank with the kerf as found; that should be %.2f, within %.2f", wide, left, want, limit),
			"see that the key is home, or that the tail lies against the other side of its socket, and read again, or leave it empty")
		return
	}
	w.out.Slip, w.out.SlipRead = math.Max(left, leafLeast), true
}

// square holds the square against what the combs found: drawn S, it comes out
// S (1 + scale) + kerf allowed for - kerf.
func (w *couponWork) square() {
	c := w.r.Cut
	for axis, key := range [2]string{"square_x", "square_y"} {
		if len(w.r.Square[axis]) == 0 || c.Square == 0 {
			continue
		}
		v, u := w.r.Caliper.mean(w.r.Square[axis], handPM)
		s, us := w.scales(axis)
		want := c.Square*(1+s) + c.Kerf - w.out.Kerf.Value
		w.out.SquareRead[axis], w.out.SquareWanted[axis] = estimate(v, u), want
		if limit := beyond * math.Sqrt(u*u+c.Square*us*c.Square*us+w.out.Kerf.u()*w.out.Kerf.u()); math.Abs(v-want) > limit {
			w.note(key, "M038", fmt.Sprintf("the square reads %.2f mm; by the kerf found it should be %.2f, within %.2f", v, want, limit),
				"read square and combs again; if they stay apart, the machine loses steps or the sheet moved")
		}
	}
}
