package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The rule that README.md gives people, by tools that are not ours: sed empties
// the key, sha256sum (GNU coreutils) computes the hash.
func TestOwnHashByOtherTools(t *testing.T) {
	for _, tool := range []string{"sh", "sed", "sha256sum"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("no %s here", tool)
		}
	}
	data := text(t, sample())
	cmd := exec.Command("sh", "-c", `sed 's/^"self": ".*"/"self": ""/' | sha256sum`)
	cmd.Stdin = strings.NewReader(data)
	out, err := cmd.Output()
	require.NoError(t, err)
	want, _, _ := strings.Cut(string(out), " ")
	assert.Len(t, want, 64)
	assert.True(t, strings.HasSuffix(data, ",\n\"self\": \""+want+"\"\n}\n"), "sha256sum: %s\n%s", want, data[len(data)-90:])
}

// Any byte changed, taken out or put in, and any beginning of the file, is seen.
func TestUnedited(t *testing.T) {
	data := []byte(text(t, sample()))
	require.True(t, Unedited(data))
	for i, b := range data {
		for _, put := range [][]byte{{b ^ 1}, {}, {b, b}} {
			if edited := bytes.Join([][]byte{data[:i], put, data[i+1:]}, nil); Unedited(edited) {
				t.Fatalf("byte %d, %q: put %q", i, b, put)
			}
		}
		if Unedited(data[:i]) {
			t.Fatalf("cut off at %d", i)
		}
	}
	assert.False(t, Unedited(append(data, '\n')), "a line more")
	assert.False(t, Unedited(bytes.ReplaceAll(data, []byte("\n"), []byte("\r\n"))), "other line ends")
	assert.False(t, Unedited([]byte(selfHead+strings.Repeat("0", 64)+selfTail)))
}

// leaf is one value of a JSON text that is neither list nor object.
type leaf struct {
	from, to int // its bytes
	value    json.Token
}

// leaves finds every value, but not the keys, by the standard library's reader.
func leaves(t *testing.T, data []byte) []leaf {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	var out []leaf
	type level struct{ object, atKey bool }
	var in []level
	for {
		before := int(d.InputOffset())
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		require.NoError(t, err)
		if delim, ok := token.(json.Delim); ok {
			if delim == '{' || delim == '[' {
				in = append(in, level{delim == '{', delim == '{'})
				continue
			}
			in = in[:len(in)-1]
		} else if top := in[len(in)-1]; top.object && top.atKey {
			in[len(in)-1].atKey = false
			continue
		} else {
			from := before + bytes.IndexFunc(data[before:], func(r rune) bool { return !strings.ContainsRune(" \n,:", r) })
			out = append(out, leaf{from, int(d.InputOffset()), token})
		}
		if n := len(in); n > 0 && in[n-1].object {
			in[n-1].atKey = true
		}
	}
}

// other is another value of the leaf's type, as JSON.
func (l leaf) other(data []byte) string {
	was := string(data[l.from:l.to])
	switch l.value.(type) {
	case string:
		return strings.TrimSuffix(was, `"`) + `x"`
	case json.Number:
		if was == "0" {
			return "1"
		}
		return was + "1"
	case bool:
		return map[string]string{"true": "false", "false": "true"}[was]
	}
	return "1" // of null
}

// Every value of the record by itself: changed, it is seen, and most of the
// changes make a record that reads well, so that only its own hash can tell.
func TestEveryValueEdited(t *testing.T) {
	data := []byte(text(t, sample()))
	all := leaves(t, data)
	readable := 0
	kinds := map[string]int{}
	for _, l := range all {
		put := l.other(data)
		edited := bytes.Join([][]byte{data[:l.from], []byte(put), data[l.to:]}, nil)
		require.NotEqual(t, data, edited)
		require.True(t, json.Valid(edited), "%s to %s", data[l.from:l.to], put)
		require.False(t, Unedited(edited), "%s to %s", data[l.from:l.to], put)
		if _, err := Read(bytes.NewReader(edited)); err == nil {
			readable++
		}
		switch l.value.(type) {
		case string:
			kinds["text"]++
		case json.Number:
			kinds["number"]++
		case bool:
			kinds["truth"]++
		case nil:
			kinds["null"]++
		}
	}
	require.Len(t, kinds, 4, "a kind of value was never edited: %v", kinds)
	require.Greater(t, readable, len(all)*8/10)
	t.Logf("%d values edited one by one (%v); %d of them read well, and none is taken as unedited", len(all), kinds, readable)
}
