package dryrun

import (
	"spotjig/cam/machine"
	"spotjig/cam/motion"
	"spotjig/post/rs274/read"
)

// timer takes the events of one run of the program and estimates how long it takes.
// It needs nothing of the judge and the judge nothing of it.
type timer struct {
	plan  *motion.Planner
	path  read.Path
	laser bool
	dark  bool // rapids are
	laps  bool // kept
	works bool // in a stretch of work
	fork  *timer
	xs    [256]float64 // of a row
}

// newTimer returns a timer, or nil where nothing tells the machine's speeds.
func newTimer(opt Options) *timer {
	m := opt.Machine
	if m == nil || opt.quick {
		return nil
	}
	c := &timer{plan: motion.NewPlanner(motion.LimitsOf(*m), opt.start()), laser: beamMachine(m), dark: m.DarkRapids, laps: opt.Laps}
	if c.laps {
		c.plan.KeepLaps()
	}
	return c
}

// beamMachine reports whether M3, M4 and S stand for a beam.
func beamMachine(m *machine.Profile) bool { return m.Process == machine.Laser && !m.HasSpindle }

// start is where the head stands before the first move, machine mm.
func (o Options) start() machine.Axes {
	switch m := o.Machine; {
	case o.Start != nil:
		return *o.Start
	case m != nil && m.Park != nil:
		return *m.Park
	case m != nil:
		return m.Offsets[1]
	}
	return machine.Axes{}
}

// Fork returns a timer in the same state.
func (c *timer) Fork() (read.Sink, error) {
	k := *c
	k.plan = c.plan.Clone()
	c.fork = &k
	return c.fork, nil
}

// Take times a batch.
func (c *timer) Take(b *read.Batch) error {
	for i := 0; i < len(b.Events); i++ {
		e := &b.Events[i]
		if e.Path != c.path {
			c.path = e.Path
			c.plan.Exact(e.Path == read.Exact || e.Path == read.ExactStop)
		}
		on := c.laser && e.Turn != read.Off && e.S > 0
		if c.laps {
			c.lap(e, on)
		}
		switch e.Kind {
		case read.Line:
			if row := c.row(b.Events[i:]); len(row) > 0 {
				c.plan.Row(row, machine.Feed(e.Feed), on)
				i += len(row) - 1
				continue
			}
			c.plan.Line(axesOf(e.To), machine.Feed(e.Feed), on)
		case read.Rapid:
			c.plan.Rapid(axesOf(e.To), on && !c.dark)
		case read.Arc:
			v := &b.Arcs[e.Extra]
			_, _, n := v.Plane.Axes()
			c.plan.Arc(motion.Arc{To: axesOf(e.To), Center: axesOf(v.Center), Axis: n, Sweep: v.Sweep}, machine.Feed(e.Feed), on)
		case read.Dwell:
			c.plan.Dwell(e.Feed, on)
		case read.Spin, read.Pause:
			c.plan.Stop()
		}
	}
	return nil
}

// row returns where the moves from the front of events on go along X, as long as only that changes.
func (c *timer) row(events []read.Event) []float64 {
	first, at, n := &events[0], c.plan.At(), 0
	y, z, feed, turn, lit := at.Y, at.Z, first.Feed, first.Turn, first.S > 0
	for n < min(len(events), len(c.xs)) {
		e := &events[n]
		if e.Kind != read.Line || e.To[1] != y || e.To[2] != z || e.Feed != feed || e.S > 0 != lit || e.Turn != turn || e.Path != c.path {
			break
		}
		c.xs[n] = e.To[0]
		n++
	}
	return c.xs[:n]
}

// lap begins a lap where travel and work change places: with the beam, and on a machine
// without one where rapids and feed moves do.
func (c *timer) lap(e *read.Event, on bool) {
	works := on
	if !c.laser {
		if e.Kind != read.Rapid && e.Kind != read.Line && e.Kind != read.Arc {
			return
		}
		works = e.Kind != read.Rapid
	}
	if works != c.works {
		c.works = works
		c.plan.Lap()
	}
}
