package view

import (
	"bytes"
	"fmt"
	"io"

	"spotjig/layout/figure"
	"spotjig/post"
)

// WriteMarks writes the picture of a table and its marks alone, before there is a
// template, as one SVG file: landscape as WriteTable has it, or with the head end down
// for a narrow window.
func WriteMarks(w io.Writer, set post.Set, narrow bool) error {
	turn, size := landscape, layoutWide
	if narrow {
		turn, size = portrait, layoutNarrow
	}
	sc := alone(set)
	p := newPlan(sc, turn, size, true)
	p.title = "The table from above: marks"
	p.desc = fmt.Sprintf("%s, playing surface %s, %s. The head end is %s.", clean(set.Table.Name), sc.by(set.Table.L, set.Table.W),
		figure.Count(len(set.Marks), "mark"), [...]string{"on the left", "at the bottom"}[turn])
	b := new(bytes.Buffer)
	writeAlone(b, sc, p)
	_, err := w.Write(b.Bytes())
	return err
}
