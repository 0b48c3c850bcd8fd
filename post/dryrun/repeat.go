package dryrun

import "spotjig/post/rs274/read"

type burnt struct{ max int }

func newBurnt(max int) *burnt { return &burnt{max} }

func (b *burnt) clone() *burnt { c := *b; return &c }

func (j *judge) repeat(e *read.Event, from, to, mid read.Point) {}
