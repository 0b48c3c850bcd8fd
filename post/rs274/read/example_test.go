package read_test

import (
	"context"
	"fmt"
	"strings"

	"spotjig/post/rs274/read"
)

// printer prints what a program does.
type printer struct{}

func (printer) Fork() (read.Sink, error) { return printer{}, nil }

func (printer) Take(b *read.Batch) error {
	for _, f := range b.Faults {
		fmt.Printf("line %d: %s\n", f.Line, f.Code)
	}
	for _, e := range b.Events {
		switch e.Kind {
		case read.Rapid, read.Line:
			fmt.Printf("line %d: to X%.1f Y%.1f, beam on %t\n", e.Line, e.To[0], e.To[1], e.Turn != read.Off)
		case read.End:
			fmt.Printf("line %d: end\n", e.Line)
		}
	}
	return nil
}

// A program of one cut, in relative words and inches: moves come out in machine mm.
func ExampleRun() {
	const program = "G20 G91 G17 G94 G40 G49 G54\nM5 S0\nG0 X1 Y1\nM4 S500\nG1 X2 F20\nM5\nM2\n"
	if _, err := read.Run(context.Background(), strings.NewReader(program), read.Options{}, printer{}); err != nil {
		fmt.Println(err)
	}
	// Output:
	// line 3: to X25.4 Y25.4, beam on false
	// line 5: to X76.2 Y25.4, beam on true
	// line 7: end
}
