package recorded_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/post/proof/recorded"
	"spotjig/post/work"
)

// madeDemo is the demo's set, its record, and every file that the record lists.
func madeDemo(t *testing.T) (work.Made, string, []recorded.File) {
	t.Helper()
	o, err := work.Read("", nil, os.ReadFile)
	require.NoError(t, err)
	made, err := o.Build(context.Background(), work.Options{Version: "test"})
	require.NoError(t, err)
	require.Empty(t, made.Failures())
	var text string
	var files []recorded.File
	for _, f := range made.Files {
		switch f.Name {
		case work.RecordName:
			text = string(f.Data)
		case work.SumsName:
		default:
			files = append(files, recorded.File{Name: f.Name, Data: f.Data})
		}
	}
	// The record lists the checks there were when it was written: not its own and the sums'.
	checks := made.Set.Checks
	for len(checks) > 0 && (checks[len(checks)-1].ID == "record" || checks[len(checks)-1].ID == "sums") {
		checks = checks[:len(checks)-1]
	}
	made.Set.Checks = checks
	return made, text, files
}

// The record of the demo passes; with any one value of it changed, left out, twice or
// unknown it does not, and the proof says where.
func TestRecordIsRead(t *testing.T) {
	made, text, files := madeDemo(t)
	c := recorded.Record([]byte(text), made.Set, files)
	require.Equal(t, jig.Pass, c.Verdict, c.Text)
	assert.LessOrEqual(t, c.Value, 0.0000006)
	h := fmt.Sprintf("%x", sha256.Sum256(files[0].Data))
	for _, row := range []struct{ name, old, put, want string }{
		{"unknown key", `"kind":"spot","mark"`, `"sort":"spot","mark"`, "sort"},
		{"key twice", `"role":"pad"`, `"role":"pad","role":"pad"`, `"role" stands twice`},
		{"text for a number", `"scale":1`, `"scale":"1"`, "scale"},
		{"something after", "]\n}\n", "]\n}\n{}", "follows"},
		{"cut off", "]\n}\n", "]\n", "EOF"},
		{"another version", `"version": "test"`, `"version": "other"`, "version"},
		{"a mark's place", `"x":635.25`, `"x":635.26`, "mark head-spot"},
		{"a mark's name", `"name":"head spot"`, `"name":"foot spot"`, "mark head-spot"},
		{"a mark's game", `"games":["pool"]`, `"games":["snooker"]`, "mark"},
		{"a number that does not apply", `"x2":null`, `"x2":1`, "mark head-spot"},
		{"a part's role", `"role":"pad"`, `"role":"leg"`, "id of"},
		{"an outline's vertex", `"outline":[[`, `"outline":[[1`, "outline of"},
		{"an opening's mark", `"kind":"spot","mark":"`, `"kind":"spot","mark":"x`, ""},
		{"a radius left out", `,"r":1.455`, ``, ""},
		{"a pose", `"upright":false`, `"upright":true`, "pose of"},
		{"the kerf", `"kerf":0.18`, `"kerf":0.19`, "material.Kerf"},
		{"a feed", `"feed_max_mm_min":12000`, `"feed_max_mm_min":120`, "machine.FeedMax"},
		{"a key of the job", `"name":"Mill Lane Hall, table 1",`, ``, "job.Name"},
		{"a key of the machine that is not one", `"machine": {`, `"machine": {"x":1,`, "machine"},
		{"a check's verdict", `"verdict":"pass"`, `"verdict":"warn"`, "check "},
		{"a budget's term", `"terms":[{"name":"`, `"terms":[{"name":"x`, "budget of"},
		{"a budget's method", `"method":"`, `"method":"x`, "budget of"},
		{"a hash", h, "00" + h[2:], "does not list"},
		{"a file more", `"files": [`, `"files": [{"name":"x","bytes":1,"sha256":"0"},`, "lists"},
		{"bounds", `"bounds":{"xmin":`, `"bounds":{"xmin":1`, "bounds"},
		{"a sheet's file", `"nc":"sheet-1.nc"`, `"nc":null`, "files"},
	} {
		t.Run(row.name, func(t *testing.T) {
			bad := strings.Replace(text, row.old, row.put, 1)
			require.NotEqual(t, text, bad, "nothing was changed")
			c := recorded.Record([]byte(bad), made.Set, files)
			assert.Equal(t, jig.Fail, c.Verdict)
			assert.Contains(t, c.Text, row.want)
		})
	}
}

// The table of marks likewise.
func TestMarksAreRead(t *testing.T) {
	made, _, files := madeDemo(t)
	var text []byte
	for _, f := range files {
		if f.Name == "marks.csv" {
			text = f.Data
		}
	}
	require.Equal(t, jig.Pass, recorded.Marks(text, made.Set.Marks).Verdict)
	for _, row := range [][2]string{{"head-spot,", "tail-spot,"}, {",head spot,", ",foot spot,"}, {",spot,", ",line,"}, {",635.2500,", ",635.2600,"}, {"\r\n", "\r\n\r\nx\r\n"}} {
		bad := bytes.Replace(text, []byte(row[0]), []byte(row[1]), 1)
		require.NotEqual(t, text, bad)
		assert.Equal(t, jig.Fail, recorded.Marks(bad, made.Set.Marks).Verdict, row[0])
	}
}
