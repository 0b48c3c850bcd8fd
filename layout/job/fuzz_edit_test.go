package job_test

import (
	"testing"

	"spotjig/layout/job"
)

// Any file and any text: what is changed reads back as typed, or nothing is changed.
func FuzzSetText(f *testing.F) {
	f.Add(job.Demo(), "table.length", "100 in")
	f.Add([]byte("table: {size: a, length: 1} # b\n"), "table.length", "it's")
	f.Add([]byte("games:\n  - pool\nname: |\n  a\n"), "name", "\"")
	f.Fuzz(func(t *testing.T, data []byte, path, text string) {
		got, err := job.SetText(data, path, text)
		if err != nil {
			return
		}
		now := job.Given(got).At(path)
		if text == "" && now != nil || text != "" && (len(now) != 1 || now[0] != text) {
			t.Errorf("%q set to %q reads %q in\n%s", path, text, now, got)
		}
	})
}
