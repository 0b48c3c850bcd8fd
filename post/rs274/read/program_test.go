package read

import (
	"context"
	"io"
)

// Step is an event with what belongs to it.
type Step struct {
	Event
	Curve Curve  // of an Arc
	Text  string // of a Comment, without its brackets
	Note  Note   // of a Noted
}

// Program interprets r with the block delete switch off and shows every step, in
// order, to visit; it is Run for those who are in no hurry. The faults are listed;
// the error is r's, ctx's or visit's.
func Program(ctx context.Context, r io.Reader, opt Options, visit func(Step) error) ([]Fault, error) {
	opt.Texts = true
	s := &visitor{visit: visit}
	_, err := Run(ctx, r, opt, s)
	return s.faults, err
}

type visitor struct {
	visit  func(Step) error
	faults []Fault
}

func (s *visitor) Take(b *Batch) error {
	s.faults = append(s.faults, b.Faults...)
	for _, e := range b.Events {
		if s.visit == nil {
			break
		}
		st := Step{Event: e}
		switch e.Kind {
		case Arc:
			st.Curve = b.Arcs[e.Extra]
		case Comment:
			st.Text = b.Texts[e.Extra]
		case Noted:
			st.Note = b.Notes[e.Extra]
		}
		if err := s.visit(st); err != nil {
			return err
		}
	}
	return nil
}

func (s *visitor) Fork() (Sink, error) { return &visitor{}, nil }
