package dryrun

import (
	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

type blade struct{}

func newBlade(k machine.KnifeProfile, top float64) *blade { return &blade{} }

func (b *blade) straight(j *judge, e *read.Event, from read.Point) {}
func (b *blade) arc(j *judge, e *read.Event, c *read.Curve)        {}
