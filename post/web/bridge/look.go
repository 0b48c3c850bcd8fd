package bridge

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/post"
	"spotjig/post/view"
	"spotjig/post/work"
)

// State is everything the page shows of a job's text.
type State struct {
	Text   string  `json:"text"`
	Groups []Group `json:"groups"`
	Faults []Fault `json:"faults"`
	Notes  []Fault `json:"notes"`
	Shown  *Shown  `json:"shown"` // nil while there are faults
}

// Shown is what the page shows of a job without faults. Texts are for people.
type Shown struct {
	Name     string   `json:"name"`
	Facts    []string `json:"facts"`   // of the table
	Picture  string   `json:"picture"` // of the marks, SVG
	Marks    []Mark   `json:"marks"`
	Remarks  []Remark `json:"remarks"`
	Balls    Balls    `json:"balls"`
	Steps    []Step   `json:"steps"`    // the tape card, in marking-out order
	Unmade   []Fault  `json:"unmade"`   // why no template can be made on this machine and sheet
	Cautions []string `json:"cautions"` // of the machine and the sheet; none while Unmade has any
}

// Mark is a row of the table of marks.
type Mark struct {
	ID       string `json:"id"`
	Name     string `json:"name"`
	Games    string `json:"games"`
	FromHead string `json:"from_head"`
	FromFoot string `json:"from_foot"`
	Across   string `json:"across"`
	Tape     string `json:"tape"`
	Rule     string `json:"rule"`
	Source   string `json:"source"`
}

// Remark is a choice that the fitter has to make, or something to look out for.
type Remark struct {
	Text    string   `json:"text"`
	Help    string   `json:"help"`
	Options []string `json:"options"`
}

// Balls tells how the balls fit, with a table of snooker's racks: Head and Racks.
type Balls struct {
	Lines []string   `json:"lines"`
	Head  []string   `json:"head"`
	Racks [][]string `json:"racks"`
}

// Step is one place to mark with a tape.
type Step struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	End   string `json:"end"`  // "635.3 mm (25 in) from the head nose"
	Side  string `json:"side"` // the same from the nearer side
	Check string `json:"check"`
	Ends  string `json:"ends"`  // the end nose it is measured from: "head nose"
	Sides string `json:"sides"` // the side nose
	Moves string `json:"moves"` // how far the place is off when a tape is read to 1/32 in only
}

// Look reads a job's text and returns all that the page shows of it, with a picture for a
// narrow window or a wide one. Faults of the text are in the state.
func Look(text string, narrow bool) State {
	o, err := read(text)
	s := State{Text: text, Faults: faultsOf(err), Notes: []Fault{}}
	if err == nil {
		s.Shown, err = shown(o, narrow)
		s.Faults, s.Notes = faultsOf(err), faults(o.Notes.Each())
	}
	s.Groups = form(text, s.Faults)
	return s
}

func shown(o *work.Order, narrow bool) (*Shown, error) {
	fit, err := layout.FitBalls(o.Request())
	if err != nil {
		return nil, o.Located(err)
	}
	s := &Shown{Name: o.Job.Name, Facts: o.Facts(), Marks: marks(o.Plan), Remarks: remarks(o.Plan), Balls: ballsOf(fit),
		Steps: steps(layout.TapeCard(o.Request(), o.Plan)), Unmade: []Fault{}, Cautions: []string{}}
	set := post.Set{Job: o.Job, Table: o.Job.Table, Marks: o.Plan.Marks}
	var b bytes.Buffer
	if err := view.WriteMarks(&b, set, narrow); err != nil {
		return nil, err
	}
	s.Picture = b.String()
	if o.Job.Units == job.UnitsInch {
		s.inchesFirst()
	}
	if p, m, err := o.Sheet(); err != nil {
		s.Unmade = faultsOf(err)
	} else {
		s.Cautions = post.Cautions(p, m, o.Job.DXF == "compensated")
	}
	return s, nil
}

// inchesFirst puts inches before millimetres in every length that is read with a tape.
func (s *Shown) inchesFirst() {
	for i := range s.Facts {
		s.Facts[i] = figure.InchesFirst(s.Facts[i])
	}
	for i := range s.Balls.Lines {
		s.Balls.Lines[i] = figure.InchesFirst(s.Balls.Lines[i])
	}
	for i := range s.Marks {
		m := &s.Marks[i]
		m.FromHead, m.FromFoot, m.Across = figure.InchesFirst(m.FromHead), figure.InchesFirst(m.FromFoot), figure.InchesFirst(m.Across)
	}
	for i := range s.Steps {
		c := &s.Steps[i]
		c.Name, c.End, c.Side, c.Check = figure.InchesFirst(c.Name), figure.InchesFirst(c.End), figure.InchesFirst(c.Side), figure.InchesFirst(c.Check)
	}
}

func marks(p layout.Plan) []Mark {
	out := []Mark{}
	for _, m := range p.Marks {
		across := m.Across
		if m.Kind == layout.Arc {
			across += ", radius " + figure.Length(m.Radius)
		}
		out = append(out, Mark{ID: m.ID, Name: m.Name, Games: strings.Join(m.Games, ", "), FromHead: strings.TrimSuffix(m.FromHead, " from the head nose"),
			FromFoot: strings.TrimSuffix(m.FromFoot, " from the foot nose"), Across: across,
			Tape: fmt.Sprintf("±%s, ±%s mm", figure.Fixed(m.TapeX, 1), figure.Fixed(m.TapeY, 1)), Rule: m.Rule, Source: m.Source})
	}
	return out
}

// remarks are the fitter's choices with what each moves, then what to look out for.
func remarks(p layout.Plan) []Remark {
	out := []Remark{}
	for _, n := range p.Notes {
		r := Remark{Text: n.Text, Options: []string{}}
		if n.Recommend != "" && n.Recommend != n.Chosen {
			r.Help = "recommended: " + n.Recommend
		}
		for _, o := range n.Options {
			line := fmt.Sprintf("%s: %s", o.Value, figure.MM(o.At))
			if o.Value != n.Chosen {
				line += ", moves it " + figure.Signed(o.Moves)
			} else {
				line += ", chosen"
			}
			r.Options = append(r.Options, line)
		}
		out = append(out, r)
	}
	for _, f := range p.Findings {
		out = append(out, Remark{Text: f.Text, Help: f.Help, Options: []string{}})
	}
	return out
}

func ballsOf(f layout.BallFit) Balls {
	out := Balls{Lines: []string{"balls of " + figure.Length(f.Ball)}, Head: []string{}, Racks: [][]string{}}
	if s := f.Snooker; s != nil {
		out.Lines = append(out.Lines, s.Advice,
			fmt.Sprintf("pink to black %s; behind the black %s: a ball passes: %s, a cue reaches: %s", figure.MM(s.PinkToBlack), figure.MM(s.BehindBlack), figure.YesNo(s.BallPasses), figure.YesNo(s.CueReaches)),
			fmt.Sprintf("the D is %s wide, %s balls", figure.MM(s.DWidth), figure.Fixed(s.DWidthBalls, 1)))
		out.Head = []string{"Reds", "Gap to black", "Triangle's wall leaves", "Largest ball", "Verdict"}
		for _, r := range s.Racks {
			out.Racks = append(out.Racks, []string{fmt.Sprint(r.Reds), figure.MM(r.Clear), figure.MM(r.WallRoom), figure.MM(r.Largest), r.Verdict()})
		}
	}
	if r := f.Rack; r != nil {
		fits := map[bool]string{true: "fits", false: "does not fit"}[r.Fits]
		out.Lines = append(out.Lines, fmt.Sprintf("pool's fifteen: back edge to foot nose %s, corner to side nose %s: %s", figure.MM(r.BaseToNose), figure.MM(r.SideToNose), fits))
	}
	if f.Snooker == nil && f.Rack == nil {
		out.Lines = append(out.Lines, "no game of this job racks balls between its marks")
	}
	return out
}

// atNose: a distance below this, mm, prints as 0.0; the place is said to be at the nose.
const atNose = 0.05

func steps(card []layout.TapePlace) []Step {
	from := func(d float64, nose string) string {
		if math.Abs(d) < atNose {
			return "at the " + nose
		}
		return figure.Length(d) + " from the " + nose
	}
	out := []Step{}
	for _, c := range card {
		name := c.Name
		if c.Radius > 0 {
			name += ", radius " + figure.Length(c.Radius)
		}
		out = append(out, Step{ID: c.ID, Name: name, End: from(c.EndDist, c.End), Side: from(c.SideDist, c.Side),
			Check: figure.Length(c.CheckBy) + " from " + c.CheckAs, Ends: c.End, Sides: c.Side, Moves: figure.MM(c.RoundError)})
	}
	return out
}

// MarksJSON is what "spotjig marks --format json" prints of a job's text.
func MarksJSON(text string) (string, error) {
	o, err := read(text)
	if err != nil {
		return "", err
	}
	var b bytes.Buffer
	err = layout.WriteMarksJSON(&b, o.Plan, layout.TapeCard(o.Request(), o.Plan))
	return b.String(), err
}
