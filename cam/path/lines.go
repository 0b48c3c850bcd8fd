package path

import (
	"slices"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// Drawn is a cut with its middle where it is drawn: no kerf is allowed for, no
// lead-in is made. Sheet frame.
type Drawn struct {
	Chain         []geom.Segment // each begins where the one before ended
	Layer         Layer
	Part, Feature string // what it is, for people
	Setting       machine.Setting
}

// AsDrawn returns the operations that cut chains as drawn, in the order given,
// each pass after pass.
func AsDrawn(chains []Drawn) []Op {
	var out []Op
	for _, d := range chains {
		for pass := 1; pass <= max(1, d.Setting.Passes); pass++ {
			op := Op{Layer: d.Layer, Part: d.Part, Feature: d.Feature, Power: d.Setting.Power, Pass: pass, Last: len(d.Chain)}
			for _, s := range d.Chain {
				op.Moves = append(op.Moves, Move{Segment: s, Feed: d.Setting.Feed})
			}
			out = append(out, op)
		}
	}
	return out
}

// Arranged is a beam's toolpath of operations in the order given; the head stands
// at start before.
func Arranged(sheet int, start geom.Point, ops []Op) Toolpath {
	tp := Toolpath{Sheet: sheet, Process: machine.Laser, Ops: slices.Clone(ops)}
	tp.total(start)
	return tp
}

// Freeing parts a sheet's operations where the first outline begins: before it, nothing
// is cut free.
func Freeing(ops []Op) (before, from []Op) {
	at := slices.IndexFunc(ops, func(o Op) bool { return o.Layer == Outline })
	if at < 0 {
		at = len(ops)
	}
	return ops[:at:at], ops[at:]
}
