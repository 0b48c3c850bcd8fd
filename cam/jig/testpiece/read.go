package testpiece

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// Cut is what a test piece was cut to, as the program meant it, mm. It
// stands in the form so that readings can be worked out without the job.
type Cut struct {
	Thickness      float64   // of the sheet, as the job has it
	Kerf           float64   // that the program allowed for
	Pieces         int       // in a comb
	Comb           float64   // between the comb's outermost lines
	Square         float64   // side
	Slots          []float64 // widths, lettered A, B, ...
	Flanks         []float64 // clearances a flank of the dovetail sockets, numbered 1, 2, ...
	ScaleX, ScaleY float64   // between the ticks of the sheet
	Fits           []Fit     // what the job's words for a fit mean
	Flank          float64   // clearance a flank that the jig's dovetails are given
	Keyed          bool      // a key shuts the joint that was cut, as the job's
}

// Fit is a word for how a fin sits in its slot, and how much wider than the
// sheet that slot is made.
type Fit struct {
	Name      string
	Clearance float64
}

// Limits of a readings form.
const (
	repeatsMax = 10
	piecesMax  = 50
	couponMax  = 2000.0 // mm, of any length of a test piece but its ticks
	leafMax    = 1.0    // mm, of feeler leaves: the thickest of the usual set
)

// The sides and diagonals between the ticks A, B, C, D: lower left, lower right,
// upper right, upper left.
const (
	sideAB = iota
	sideDC
	sideAD
	sideBC
	diagonalAC
	diagonalBD
	spans
)

func spanNames() [spans]string {
	return [spans]string{"a_b", "d_c", "a_d", "b_c", "a_c", "b_d"}
}

// Readings is a test piece as measured.
type Readings struct {
	Cut           Cut
	Caliper, Rule Gauge
	Thickness     []float64
	Comb, Turned  [2][]float64 // comb x and comb y; with every other piece turned over
	WiderAtExit   bool         // the kerf is wider at the exit face, which is unusual
	Square        [2][]float64
	FitSlots      map[string]string // "slide" to "D"
	Socket        int               // number of the tightest that goes together; 0: not read
	Shoulders     [2][]float64      // thinnest leaf that does not go in at the joint's left and right shoulder
	Beside        []float64         // and beside its tail
	Spans         [spans][]float64

	fields *job.Fields // for the places of faults
	parts  []formPart  // every map of the form but what was cut
	faults *problem.List
}

// formPart is a map of the form.
type formPart struct {
	path   string // "ticks."; "" for the whole form
	fields *job.Fields
}

// ReadForm reads a filled-in form. What is left empty was not read. The error
// is a problem.List or a problem.Problem.
func ReadForm(file string, data []byte) (Readings, error) {
	sec, err := job.Parse(file, data)
	if err != nil {
		return Readings{}, err
	}
	r := Readings{faults: &problem.List{}}
	f := job.Open(sec, r.faults)
	r.fields, r.parts = f, []formPart{{"", f}}
	f.Text("by", "", machine.NameMax)
	f.Text("date", "", machine.NameMax)
	r.readCut(f.Sub("cut"))
	r.Caliper = readGauge(r.sub("caliper"), usualCaliper())
	r.Rule = readGauge(r.sub("rule"), usualRule())
	part := job.Range{Max: couponMax}
	r.Thickness = r.repeats(f, "thickness", job.Range{Min: machine.ThickMin, Max: machine.ThickMax})
	for i, axis := range [2]string{"x", "y"} {
		r.Comb[i] = r.repeats(f, "comb_"+axis, part)
		r.Turned[i] = r.repeats(f, "comb_"+axis+"_turned", part)
		r.Square[i] = r.repeats(f, "square_"+axis, part)
	}
	r.WiderAtExit = f.Word("kerf_wider_at", "beam", "beam", "exit") == "exit"
	r.readFits(f)
	for i, side := range [2]string{"left", "right"} {
		r.Shoulders[i] = r.repeats(f, "joint_"+side, job.Range{Max: leafMax})
	}
	r.Beside = r.repeats(f, "joint_flank", job.Range{Max: leafMax})
	s := r.sub("ticks")
	for i, name := range spanNames() {
		r.Spans[i] = r.repeats(s, name, job.Range{Max: 2 * machine.TravelMax})
	}
	s.Done()
	f.Done()
	return r, r.faults.Err()
}

// Unoffered lists the keys of readings that the form has no place for.
func (r Readings) Unoffered() []string {
	var out []string
	for _, p := range r.parts {
		for _, key := range p.fields.Keys() {
			if !p.fields.Written(key) {
				out = append(out, p.path+key)
			}
		}
	}
	return out
}

// Answered lists the keys behind which stands what only a person who measured can know. The
// form as it is written has none: a figure in it would pass for a reading.
func (r Readings) Answered() []string {
	var out []string
	for _, p := range r.parts {
		for _, key := range p.fields.Filled() {
			if !formSays(p.path + key) {
				out = append(out, p.path+key)
			}
		}
	}
	if r.Caliper != usualCaliper() {
		out = append(out, "caliper")
	}
	if r.Rule != usualRule() {
		out = append(out, "rule")
	}
	if r.WiderAtExit {
		out = append(out, "kerf_wider_at")
	}
	return out
}

// formSays tells of a key whether the form is written with a value for it: what was cut, the
// usual instruments, how most beams cut, and the map of the ticks, whose own keys are empty.
// Of instruments and beam Answered looks at the value.
func formSays(key string) bool {
	first, _, _ := strings.Cut(key, ".")
	return key == "ticks" || slices.Contains([]string{"cut", "caliper", "rule", "kerf_wider_at"}, first)
}

// usualCaliper and usualRule are the instruments that the form is written with.
func usualCaliper() Gauge { return Gauge{Step: 0.01, PM: 0.02} }
func usualRule() Gauge    { return Gauge{Step: 0.5, PM: 0.2} }

// sub begins reading a map of the form.
func (r *Readings) sub(key string) *job.Fields {
	f := r.fields.Sub(key)
	r.parts = append(r.parts, formPart{key + ".", f})
	return f
}

// readGauge reads an instrument.
func readGauge(f *job.Fields, def Gauge) Gauge {
	g := Gauge{
		Step: f.Length("step", job.Range{Default: def.Step, Min: 0.0001, Max: 5}),
		PM:   f.Length("pm", job.Range{Default: def.PM, Min: 0, Max: 5}),
	}
	f.Done()
	return g
}

// repeats reads one reading or a list of them.
func (r *Readings) repeats(f *job.Fields, key string, within job.Range) []float64 {
	var out []float64
	for _, it := range f.List(key, repeatsMax) {
		text, ok := it.Word()
		if !ok {
			f.Fault(key, "J002", "readings are wanted here", "write them between brackets with commas between: [98.40, 98.41, 98.40]")
			return nil
		}
		v, err := job.ParseLength(text)
		p := problem.Problem{File: it.File, Line: it.Line, Col: it.Col, Field: it.Path}
		switch {
		case err != nil:
			got := problem.From(err)[0]
			p.Code, p.Msg, p.Help = got.Code, got.Msg, got.Help
			if got.Code == "L005" {
				p.Help = "write several readings between brackets, with decimal points: [98.40, 98.41]"
			}
		case v < within.Min || v > within.Max || v <= 0:
			p.Code, p.Help = "M030", "read it again; a bare number is in mm"
			p.Msg = fmt.Sprintf("%g mm is no reading of this: it lies between %g and %g mm", v, within.Min, within.Max)
		default:
			out = append(out, v)
			continue
		}
		r.faults.Add(p)
	}
	return out
}

// readCut reads what the coupon wrote into its form.
func (r *Readings) readCut(f *job.Fields) {
	size := job.Range{Min: 1, Max: couponMax}
	r.Cut = Cut{
		Thickness: f.Length("thickness", job.Range{Min: machine.ThickMin, Max: machine.ThickMax}),
		Kerf:      f.Length("kerf", job.Range{Min: 0, Max: machine.KerfMax}),
		Pieces:    f.Whole("pieces", job.Range{Min: 2, Max: piecesMax}),
		Comb:      f.Length("comb", size),
		Square:    f.Length("square", size),
		ScaleX:    f.Length("ticks_x", job.Range{Min: 1, Max: machine.TravelMax}),
		ScaleY:    f.Length("ticks_y", job.Range{Min: 1, Max: machine.TravelMax}),
		Flank:     f.Length("flank", job.Range{Min: 0, Max: 1}),
		Keyed:     f.Word("joint", job.JointDovetail, job.JointDovetail, job.JointKeyed) == job.JointKeyed,
		Slots:     r.repeats(f, "slots", job.Range{Max: couponMax}),
	}
	for _, it := range f.List("flanks", repeatsMax) {
		if text, ok := it.Word(); ok {
			v, err := job.ParseLength(text)
			if r.faults.AddError(err) == nil && err == nil {
				r.Cut.Flanks = append(r.Cut.Flanks, v)
			}
		}
	}
	fits := f.Sub("fits")
	for _, name := range fitWords() {
		r.Cut.Fits = append(r.Cut.Fits, Fit{name, fits.Length(name, job.Range{Min: -1, Max: 1})})
	}
	fits.Done()
	for _, key := range []string{"thickness", "kerf", "pieces", "comb"} {
		if !f.Has(key) {
			f.Missing(key, `use the form that "spotjig coupon" wrote; it says what was cut`)
		}
	}
	f.Done()
}

// fitWords are the words of the job's key jig.fit.
func fitWords() []string { return []string{"press", "slide", "loose"} }

// readFits reads which slot and socket fitted.
func (r *Readings) readFits(f *job.Fields) {
	r.FitSlots = map[string]string{}
	for _, name := range fitWords() {
		key := "slot_" + name
		if !f.Has(key) {
			f.Text(key, "", machine.NameMax)
			continue
		}
		var known []string
		for i := range r.Cut.Slots {
			known = append(known, SlotLetter(i))
		}
		r.FitSlots[name] = f.Word(key, "", known...)
	}
	r.Socket = f.Whole("socket", job.Range{Min: 1, Max: math.Max(1, float64(len(r.Cut.Flanks)))})
}

// SlotLetter is what the i-th slot of the ladder is called.
func SlotLetter(i int) string { return string(rune('A' + i)) }

// joint is the job's word for how the joint that was cut is joined.
func (c Cut) joint() string {
	if c.Keyed {
		return "keyed"
	}
	return "dovetail"
}

// slotWidth is the width a lettered slot was drawn with.
func (c Cut) slotWidth(letter string) (float64, bool) {
	for i, w := range c.Slots {
		if SlotLetter(i) == letter {
			return w, true
		}
	}
	return 0, false
}
