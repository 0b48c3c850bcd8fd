package jig

import (
	"fmt"
	"math"
	"slices"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
)

// Request is all that Design is told.
type Request struct {
	Name, Date, Version string // lettered on the pieces
	Table               layout.Table
	Games               []string
	Marks               []layout.Mark   // table frame
	Also                []job.AlsoTable // other tables the jig should serve
	AlikeFrom, AlikeTo  float64         // lengths in which the marks follow the same rules; 0: any
	Sizes               []Size          // published, that the table is meant to be
	BallDiameter        float64         // mm; sets the nose height a fin must reach
	Want                job.Jig
	Machine             machine.Profile
	Material            machine.Material
	Copies              int    // jigs to be made, which share the stock; 0: one
	Inches              bool   // lettered lengths have the tape's inches first
	Letter              string // of the job where several share sheets: it begins every piece's name; else ""

	settings *settings // planned; nil for none
	draw     drawn
	bare     bool // without lettering and advice, to be priced
}

// named is a piece's name, behind the job's letter where there is one.
func (r Request) named(name string) string {
	if r.Letter == "" {
		return name
	}
	return r.Letter + "-" + name
}

// SizeError says that the bed is too small for a piece, with both sizes in mm.
type SizeError struct {
	Piece            string
	NeedW, NeedH     float64
	UsableW, UsableH float64
	Reason           string
}

// Error names the piece, its size, the usable bed and why.
func (e *SizeError) Error() string {
	return fmt.Sprintf("%s needs %s and the usable bed is %s: %s",
		e.Piece, figure.By(e.NeedW, e.NeedH), figure.By(e.UsableW, e.UsableH), e.Reason)
}

// Design turns marks into the parts of a head and a foot template. It draws one plan, the
// usual one; Search draws others where that is not sound.
//
// Both templates are drawn by the same code in the template frame: u runs from
// the template's own end nose towards the middle of the table, v across. At the
// head that is the table frame; at the foot it is the table frame turned half
// round about the middle of the table, never mirrored.
//
// The stages are: plan (members as rectangles), tile (pieces no larger than the
// bed), what touches the noses, joints, openings, scores, lettering, checks. Plate
// and film differ in what a kind does at some of them.
func Design(req Request, k Kind) (Jig, error) {
	lim, font := k.Limits(), NewFont()
	var out Jig
	var all []*Template
	var gauged []*middlePlan
	var err error
	var keyed map[string]float64
	plan, withKeys := func() { all, gauged, err = planned(k, req) }, func() { keyed = keyedLikely(k, req) }
	if lim.Shod { // keyed joints are told with these settings
		plan()
	} else {
		both(plan, withKeys)
	}
	if err != nil {
		return Jig{}, err
	}
	if lim.Shod {
		req.settings = settingsWithin(all, lim, req)
		out.Settings = req.settings.list
		withKeys()
	}
	out.Budgets = budgets(all, lim, req, keyed)
	for _, m := range gauged {
		out.Budgets = append(out.Budgets, m.advised(all, accuracyOf(req, lim), keyed).judged(req))
	}
	serves := lengthClass(all, out.Budgets, req)
	out.LengthMin, out.LengthMax = serves[0], serves[1]
	templates := len(all)
	for _, m := range gauged {
		all = append(all, m.tp)
	}
	parts := make([][]Part, len(all))
	each(len(all), func(i int) { // a template is drawn by itself
		tp := all[i]
		k.Cut(tp)
		k.Score(tp)
		if i < templates {
			handles(tp, lim, req.Machine)
		}
		if !req.bare {
			labels{req, lim, font, serves}.write(tp)
		}
		parts[i] = append(FlatParts(tp), k.Parts(tp)...)
	})
	all = all[:templates]
	out.Parts = slices.Concat(parts...)
	for _, tp := range all {
		out.Joints = append(out.Joints, JointsOf(tp)...)
	}
	for _, m := range gauged {
		out.Gauges = append(out.Gauges, m.gauge(all))
	}
	compensate(out.Parts, req)
	out.Checks = k.Checks(all, look(all, gauged, out, lim, req, serves))
	return out, nil
}

// planned is the templates, joined; with a plan for a gauge where the spot in the middle
// of the table is likely nearer its place by thread and gauge than by a template, and for
// another where the spot midway from there to an end is.
func planned(k Kind, req Request) ([]*Template, []*middlePlan, error) {
	all, err := ends(k, req)
	id := middleSpot(req.Table, req.Marks)
	if id == "" || req.draw.whole {
		return all, nil, err
	}
	free, freeErr := ends(k, withoutSpots(req, id))
	if freeErr != nil {
		return all, nil, err
	}
	middle := planGauge(free, id, req)
	if middle == nil {
		return all, nil, err
	}
	acc := accuracyOf(req, k.Limits())
	middle.lands = middle.budget(free, acc)
	if middle.lands.Mark == "" || err == nil && middle.lands.Likely > likelyOf(all, id, acc) {
		return all, nil, err
	}
	for end, id := range quarterSpots(req.Table, req.Marks) {
		if id == "" {
			continue
		}
		if short, both := planBoth(k, middle, quarterSpot{id, end, likelyOf(free, id, acc)}, req); both != nil {
			return short, both, nil
		}
	}
	return free, []*middlePlan{middle}, nil
}

// quarterSpot is a spot midway between the middle and an end, with what it likely lands
// within by a template.
type quarterSpot struct {
	id     string
	end    int
	likely float64
}

// planBoth plans gauges for the spot in the middle and for the one midway from there to an
// end, and the shorter templates that leave both free: nil where there is no room, or where
// the worse of the two is no nearer its place than with one gauge.
func planBoth(k Kind, one *middlePlan, spot quarterSpot, req Request) ([]*Template, []*middlePlan) {
	short, err := ends(k, withoutSpots(req, one.mark.ID, spot.id))
	if err != nil {
		return nil, nil
	}
	acc := accuracyOf(req, k.Limits())
	middle := planGauge(short, one.mark.ID, req)
	if middle == nil {
		return nil, nil
	}
	quarter := planQuarter(short, spot.id, spot.end, middle, req)
	if quarter == nil {
		return nil, nil
	}
	middle.lands, quarter.lands = middle.budget(short, acc), quarter.budget(short, acc)
	if middle.lands.Mark == "" || math.Max(quarter.lands.Likely, middle.lands.Likely) > math.Max(spot.likely, one.lands.Likely) {
		return nil, nil
	}
	return short, []*middlePlan{middle, quarter}
}

// ends plans both templates and joins them.
func ends(k Kind, req Request) ([]*Template, error) {
	var all []*Template
	for _, end := range []string{Head, Foot} {
		tp, err := planEnd(end, k, req)
		if err != nil {
			return nil, err
		}
		if tp != nil {
			all = append(all, tp)
		}
	}
	return all, k.Join(all)
}

// likelyOf is what a mark likely lands within by template.
func likelyOf(all []*Template, id string, acc accuracy) float64 {
	likely := 0.0
	for _, tp := range all {
		s := newLaying(tp)
		for _, e := range tp.Elements {
			if s != nil && e.mark == id {
				likely = math.Max(likely, s.under(acc).budgetOf(e).Likely)
			}
		}
	}
	return likely
}

// keyedLikely is what every mark likely lands within where the joints are keyed, by the
// templates as they then are; nil where they are already, or cannot be.
func keyedLikely(k Kind, req Request) map[string]float64 {
	with := k.Keyed()
	if with == nil || req.bare {
		return nil
	}
	req.Want.Joint, req.Want.SlipStated = job.JointKeyed, false // what was read is of a dovetail
	all, gauged, err := planned(with, req)
	if err != nil {
		return nil
	}
	out, acc := map[string]float64{}, accuracyOf(req, with.Limits())
	for _, tp := range all {
		if s := newLaying(tp); s != nil {
			l := s.under(acc)
			for _, e := range tp.Elements {
				out[e.mark] = math.Max(out[e.mark], l.budgetOf(e).Likely)
			}
		}
	}
	for _, m := range gauged {
		out[m.mark.ID] = m.lands.Likely
	}
	return out
}

// Kind is a way to build a template: of plate, with fins and dovetails, or of film,
// with blocks and laps.
type Kind interface {
	// Limits are those that hold in the whole design.
	Limits() Limits
	// Keyed is the same with keyed joints; nil where it has them, or can have none.
	Keyed() Kind
	// Stand sets on a tiled template what touches the noses: its Fins.
	Stand(tp *Template)
	// Join says how every seam is joined.
	Join(all []*Template) error
	// Cut draws the outlines and opens all that goes through. It, Score and Parts are called
	// of several templates at a time.
	Cut(tp *Template)
	// Score draws lines and figures that are not cut through, and keeps clear for
	// them the places where lettering must not stand.
	Score(tp *Template)
	// Parts are those that are no flat pieces.
	Parts(tp *Template) []Part
	// Checks adds the kind's own to those made of every jig, and puts them in order.
	Checks(all []*Template, of Looked) []Check
}
