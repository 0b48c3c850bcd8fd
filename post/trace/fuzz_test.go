package trace_test

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"spotjig/post/trace"
)

// Whatever a program says, its picture is well formed and small.
func FuzzPicture(f *testing.F) {
	f.Add([]byte(head+"G2 X10 Y10 I5 J5 F600\nG18 G3 X1 Z1 I2 K0\nM2\n"), int64(2), 0.5)
	f.Add([]byte("G83 X1 Y1 Z-1 R2 Q.1 F50\n/G0 X1e9\nM30\n"), int64(0), 1.0)
	f.Fuzz(func(t *testing.T, program []byte, line int64, share float64) {
		w, err := trace.Read(context.Background(), bytes.NewReader(program), trace.Options{Findings: []trace.Finding{{Line: line, Error: true}, {Line: 1}}})
		require.NoError(t, err)
		var b bytes.Buffer
		require.NoError(t, w.Write(&b, share))
		require.Less(t, b.Len(), 4_000_000)
		d := xml.NewDecoder(&b)
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				return
			} else if err != nil {
				t.Fatal(err)
			}
		}
	})
}
