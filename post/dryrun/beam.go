package dryrun

import (
	"fmt"

	"spotjig/layout/geom"
	"spotjig/post/rs274/read"
)

// The beam counts as on while M3 or M4 is in force and S is above zero, in a rapid too unless
// the profile says that the machine's rapids are dark. Some controllers turn the beam off
// under M4 while the head stands still; the judge does not rely on that.

// beamInRapid reports a rapid with the beam on.
func (j *judge) beamInRapid(e *read.Event, from read.Point) {
	j.fired = false
	j.report(RapidBeam, firstWord(e).of(e.S, 0, "S"), "beam on at S%g in a rapid from X%.3f Y%.3f to X%.3f Y%.3f", e.S, from[0], from[1], e.To[0], e.To[1])
}

// power reports an S over the machine's full scale or the material's cap.
func (j *judge) power(e *read.Event) {
	if e.S > j.smax {
		j.report(PowerScale, firstWord(e).of(e.S, j.smax, "S"), "S%g is over the machine's full scale of S%g", e.S, j.smax)
		return
	}
	j.report(PowerCap, firstWord(e).of(e.S, j.scap, "S"), "S%g is over the cap of S%g for %s", e.S, j.scap, j.opt.Material.Name)
}

// switched judges M3, M4, M5 and S words that come without a move.
func (j *judge) switched(e *read.Event) {
	on := j.on(e)
	if j.fired && !on {
		j.report(StillBeam, site{line: j.firedAt, col: j.firedCol}, "beam switched on here and off on line %d with no move between", e.Line)
	}
	if on && !j.fired {
		j.firedAt, j.firedCol = e.Line, int(e.Col)
	}
	j.fired = on
	if on {
		j.spot.begin(j.pos, e.Line)
		if t := j.spot.spent(e.Line); t > j.spot.most && !j.spot.reported {
			j.still(e, t)
		}
	}
	if e.Kind == read.Spin && e.Turn != read.Off && j.beamWord != read.Off && e.Turn != j.beamWord {
		j.find(OtherWord, e.Line, int(e.Col), func(p *Problem) {
			p.Text = fmt.Sprintf("M%d switches the beam on, and the profile says that M%d does", e.Turn, j.beamWord)
			p.taken = fmt.Sprintf("M%d is meant where the profile says M%d", e.Turn, j.beamWord)
		})
	}
	if on && (e.S > j.smax || e.S > j.scap) {
		j.power(e)
	}
	if j.m != nil && !j.laser && !j.m.HasSpindle && (e.Turn != read.Off || e.Kind == read.Power && e.S > 0) {
		j.report(NoSpindle, firstWord(e), "spindle or beam word on a machine that has neither")
	}
}

// dwell judges a standstill.
func (j *judge) dwell(e *read.Event) {
	on := j.on(e)
	j.fired = false
	if !on {
		return
	}
	s := &j.spot
	s.begin(j.pos, e.Line)
	s.time, s.dwell = s.time+e.Feed, s.dwell+e.Feed
	if s.dwell > j.m.PierceMax {
		s.reported = true // as one finding
		since := ""
		if s.dwell > e.Feed {
			since = fmt.Sprintf(" in all since line %d", s.line)
		}
		j.report(DwellBeam, firstWord(e).of(s.dwell, j.m.PierceMax, "s"), "beam on at S%g while standing still for %g s%s; the profile allows %g s for piercing", e.S, geom.Millionth(s.dwell), since, j.m.PierceMax)
	} else if t := s.spent(e.Line); t > s.most && !s.reported {
		j.still(e, t)
	}
}

// pause judges M0, M1 and M60.
func (j *judge) pause(e *read.Event) {
	j.fired = false
	j.paused, j.watch = e.Line, true
	if j.on(e) {
		j.report(PauseBeam, firstWord(e).of(e.S, 0, "S"), "beam on at S%g while the program waits for the operator", e.S)
	}
}

// end judges the end of the program.
func (j *judge) end(e *read.Event) {
	if j.on(e) {
		j.report(EndBeam, firstWord(e).of(e.S, 0, "S"), "the program ends with the beam on at S%g", e.S)
	}
	j.fired = false
	if j.blade != nil && j.pos[2] < j.top-tinyOver {
		j.report(BladeLeft, firstWord(e).of(j.pos[2], j.top, "mm"), "the program ends with the blade in the sheet at Z%.3f", j.pos[2])
	}
}

// note turns the reader's notes into findings.
func (j *judge) note(e *read.Event, n *read.Note) {
	switch n.Mark {
	case read.UsedShift:
		j.report(Shifted, firstWord(e), "%s shifts the coordinates", n.Word)
	case read.UsedHome:
		j.report(WentHome, firstWord(e), "%s moves all axes to the stored home", n.Word)
	case read.BlendWide:
		j.report(WideBlend, firstWord(e).of(n.Value, n.Limit, "mm"), "G64 lets corners be rounded by up to %.3f mm", n.Value)
	case read.WentNowhere:
		j.goesHome(e, n.Word)
	case read.CycleTwoWays:
		if n.Word == "G98" {
			j.report(CycleWays, firstWord(e), "controllers run this cycle in two ways: G98 goes back to where the drill stood, or no lower than R")
		} else {
			j.report(CycleWays, firstWord(e), "controllers run this cycle in two ways: R is taken once, or for every hole")
		}
	case read.StopBeforeMove:
		if j.on(e) {
			j.report(StopEarly, firstWord(e), "%s switches the beam off before the move it stands behind: the cut is missing", n.Word)
		}
	case read.StartBeforeMove:
		if j.laser {
			j.report(StartEarly, firstWord(e), "%s is in force before the move it stands behind", n.Word)
		}
	case read.ModeBeforeMove:
		j.report(ModeEarly, firstWord(e), "%s is in force for the words before it on the line too", n.Word)
	case read.ToolWord:
		if j.m != nil && !j.m.HasSpindle {
			j.report(NoTools, firstWord(e), "tool word on a machine with one tool")
		}
	case read.FarRadius:
		j.report(RadiusFar, firstWord(e).of(n.Value, n.Limit, "degrees"), "radius arc of %.2f degrees: near 180 and 360 a last digit moves its centre far", n.Value)
	case read.NearCircle:
		j.report(CircleNear, firstWord(e).of(n.Value, n.Limit, "mm"), "the arc ends %.4f mm from its start: a whole turn or none", n.Value)
	case read.LongDwell:
		j.report(DwellLong, firstWord(e).of(n.Value, n.Limit, "s"), "dwell of %g s: were milliseconds meant?", n.Value)
	}
}

// goesHome judges the way to a stored home whose place is not known, as a rapid.
func (j *judge) goesHome(e *read.Event, word string) {
	if j.on(e) && !j.dark {
		j.report(RapidBeam, firstWord(e).of(e.S, 0, "S"), "beam on at S%g on the way home by %s", e.S, word)
	}
	if !j.sinks(j.pos[2], j.pos[2]) {
		return
	}
	code := MillRapid
	if j.knife {
		code = BladeRapid
	}
	j.report(code, firstWord(e), "%s goes home at travel speed from Z%.3f, in the sheet", word, j.pos[2])
}
