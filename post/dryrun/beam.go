package dryrun

import (
	"fmt"

	"spotjig/post/rs274/read"
)

// The beam counts as on while M3 or M4 is in force and S is above zero. That M4 may be
// dark while the head stands still on a given controller is not relied on.

// beamInRapid reports a rapid with the beam on.
func (j *judge) beamInRapid(e *read.Event, from read.Point) {
	j.fired = false
	j.find(RapidBeam, e.Line, int(e.Col), func(p *Problem) {
		p.number(e.S, 0, "S")
		p.Text = fmt.Sprintf("beam on at S%g in a rapid from X%.3f Y%.3f to X%.3f Y%.3f", e.S, from[0], from[1], e.To[0], e.To[1])
	})
}

// power reports an S over the machine's full scale or the material's cap.
func (j *judge) power(e *read.Event) {
	if e.S > j.smax {
		j.find(PowerScale, e.Line, int(e.Col), func(p *Problem) {
			p.number(e.S, j.smax, "S")
			p.Text = fmt.Sprintf("S%g is over the machine's full scale of S%g", e.S, j.smax)
		})
		return
	}
	j.find(PowerCap, e.Line, int(e.Col), func(p *Problem) {
		p.number(e.S, j.scap, "S")
		p.Text = fmt.Sprintf("S%g is over the cap of S%g for %s", e.S, j.scap, j.opt.Material.Name)
	})
}

// switched judges M3, M4, M5 and S words that come without a move.
func (j *judge) switched(e *read.Event) {
	on := j.on(e)
	if j.fired && !on {
		line := j.firedAt
		j.find(StillBeam, line, j.firedCol, func(p *Problem) {
			p.Text = fmt.Sprintf("beam switched on here and off on line %d with no move between", e.Line)
		})
	}
	if on && !j.fired {
		j.firedAt, j.firedCol = e.Line, int(e.Col)
	}
	j.fired = on
	if on {
		j.spot.begin(j.pos, e.Line)
		if t := j.spot.spent(e.Line); t > j.spot.most && !j.spot.told {
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
		j.find(NoSpindle, e.Line, int(e.Col), func(p *Problem) {
			p.Text = "spindle or beam word on a machine that has neither"
		})
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
		all := s.dwell
		s.told = true // as one finding
		j.find(DwellBeam, e.Line, int(e.Col), func(p *Problem) {
			p.number(all, j.m.PierceMax, "s")
			p.Text = fmt.Sprintf("beam on at S%g while standing still for %g s; the profile allows %g s for piercing", e.S, round6(all), j.m.PierceMax)
			if all > e.Feed {
				p.Text = fmt.Sprintf("beam on at S%g while standing still for %g s in all since line %d; the profile allows %g s for piercing", e.S, round6(all), s.line, j.m.PierceMax)
			}
		})
	} else if t := s.spent(e.Line); t > s.most && !s.told {
		j.still(e, t)
	}
}

// pause judges M0, M1 and M60.
func (j *judge) pause(e *read.Event) {
	j.fired = false
	j.paused, j.watch = e.Line, true
	if j.on(e) {
		j.find(PauseBeam, e.Line, int(e.Col), func(p *Problem) {
			p.number(e.S, 0, "S")
			p.Text = fmt.Sprintf("beam on at S%g while the program waits for the operator", e.S)
		})
	}
}

// end judges the end of the program.
func (j *judge) end(e *read.Event) {
	if j.on(e) {
		j.find(EndBeam, e.Line, int(e.Col), func(p *Problem) {
			p.number(e.S, 0, "S")
			p.Text = fmt.Sprintf("the program ends with the beam on at S%g", e.S)
		})
	}
	j.fired = false
	if j.blade != nil && j.pos[2] < j.top-tinyOver {
		j.find(BladeLeft, e.Line, int(e.Col), func(p *Problem) {
			p.number(j.pos[2], j.top, "mm")
			p.Text = fmt.Sprintf("the program ends with the blade in the sheet at Z%.3f", j.pos[2])
		})
	}
}

// note judges what the reader found worth telling.
func (j *judge) note(e *read.Event, n *read.Note) {
	say := func(code, text string) {
		j.find(code, e.Line, int(e.Col), func(p *Problem) { p.Text = text })
	}
	switch n.Mark {
	case read.UsedShift:
		say(Shifted, n.Word+" shifts the coordinates")
	case read.UsedHome:
		say(WentHome, n.Word+" moves all axes to the stored home")
	case read.BlendWide:
		j.find(WideBlend, e.Line, int(e.Col), func(p *Problem) {
			p.number(n.Value, 0.2, "mm")
			p.Text = fmt.Sprintf("G64 lets corners be rounded by up to %.3f mm", n.Value)
		})
	case read.WentNowhere:
		j.goesHome(e, n.Word)
	case read.CycleTwoWays:
		if n.Word == "G98" {
			say(CycleWays, "controllers run this cycle in two ways: G98 goes back to where the drill stood, or no lower than R")
		} else {
			say(CycleWays, "controllers run this cycle in two ways: R is taken once, or for every hole")
		}
	case read.StopBeforeMove:
		if j.on(e) {
			say(StopEarly, n.Word+" switches the beam off before the move it stands behind: the cut is missing")
		}
	case read.StartBeforeMove:
		if j.laser {
			say(StartEarly, n.Word+" is in force before the move it stands behind")
		}
	case read.ModeBeforeMove:
		say(ModeEarly, n.Word+" is in force for the words before it on the line too")
	case read.ToolWord:
		if j.m != nil && !j.m.HasSpindle {
			say(NoTools, "tool word on a machine with one tool")
		}
	case read.FarRadius:
		j.find(RadiusFar, e.Line, int(e.Col), func(p *Problem) {
			p.number(n.Value, 165, "degrees")
			p.Text = fmt.Sprintf("radius arc of %.2f degrees: near 180 and 360 a last digit moves its centre far", n.Value)
		})
	case read.NearCircle:
		j.find(CircleNear, e.Line, int(e.Col), func(p *Problem) {
			p.number(n.Value, 0, "mm")
			p.Text = fmt.Sprintf("the arc ends %.4f mm from its start: a whole turn or none", n.Value)
		})
	case read.LongDwell:
		j.find(DwellLong, e.Line, int(e.Col), func(p *Problem) {
			p.number(n.Value, 60, "s")
			p.Text = fmt.Sprintf("dwell of %g s: were milliseconds meant?", n.Value)
		})
	}
}

// goesHome judges the way to a home that is not known: a rapid all the same.
func (j *judge) goesHome(e *read.Event, word string) {
	if j.on(e) && !j.dark {
		j.find(RapidBeam, e.Line, int(e.Col), func(p *Problem) {
			p.number(e.S, 0, "S")
			p.Text = fmt.Sprintf("beam on at S%g on the way home by %s", e.S, word)
		})
	}
	if !j.sinks(j.pos[2], j.pos[2]) {
		return
	}
	code := MillRapid
	if j.knife {
		code = BladeRapid
	}
	j.find(code, e.Line, int(e.Col), func(p *Problem) {
		p.Text = fmt.Sprintf("%s goes home at travel speed from Z%.3f, in the sheet", word, j.pos[2])
	})
}
