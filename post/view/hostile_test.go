package view_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post"
	"spotjig/post/view"
)

// hostileTexts try to leave their place in the page.
var hostileTexts = []string{
	`<script>window.pwned=1</script>`,
	`"><img src=x onerror="window.pwned=2">`,
	`</script><script>window.pwned=3</script>`,
	`</style><svg onload=window.pwned=4>`,
	`' onfocus='window.pwned=5' autofocus='`,
	`</title><base href=//evil.example/>`,
	`<!--`, `]]>`, `</svg>`,
}

// textFields returns every string in the set by reflection, so that a new field
// is covered by itself. Kinds and roles that the program itself chooses among
// are left alone.
func textFields(set *post.Set) []*string {
	var out []*string
	var walk func(v reflect.Value)
	walk = func(v reflect.Value) {
		switch v.Kind() {
		case reflect.String:
			if v.Type() == reflect.TypeOf("") && v.CanAddr() && v.CanSet() {
				out = append(out, v.Addr().Interface().(*string))
			}
		case reflect.Struct:
			for i := 0; i < v.NumField(); i++ {
				if v.Type().Field(i).IsExported() {
					walk(v.Field(i))
				}
			}
		case reflect.Slice, reflect.Array:
			for i := 0; i < v.Len(); i++ {
				walk(v.Index(i))
			}
		case reflect.Pointer:
			if !v.IsNil() {
				walk(v.Elem())
			}
		}
	}
	walk(reflect.ValueOf(set).Elem())
	return out
}

// TestHostileTextLeavesTheMarkupWhole puts each hostile text into every string
// of the job: the tags of the page stay the very same, and the SVG files stay
// well-formed with the same elements.
func TestHostileTextLeavesTheMarkupWhole(t *testing.T) {
	blank := demoSet()
	for _, f := range textFields(&blank) {
		*f = "x"
	}
	want, wantSVG := tags(page(t, blank)), elements(t, tableSVG(t, blank))
	controls := []string{"\x00", "\x1b]0;x\x07", "\u202eevil", "\xed\xa0\x80", "a\nb\rc", strings.Repeat("long ", 200_000)}
	for _, text := range append(controls, hostileTexts...) {
		set := demoSet()
		for _, f := range textFields(&set) {
			*f = text
		}
		got := page(t, set)
		assert.Equal(t, want, tags(got), "%.40q", text)
		assert.Equal(t, wantSVG, elements(t, tableSVG(t, set)), "%.40q", text)
		for _, bad := range []string{"\x00", "\x1b", "\u202e"} {
			assert.NotContains(t, string(got), bad, "%.40q", text)
		}
		assert.Less(t, len(got), 2_000_000)
	}
}

// tags counts the elements of a page by name, as a plain scan for tag openings
// outside script and style sees them. Labels with no room are left out, so
// texts and leaders are not counted.
func tags(pg []byte) map[string]int {
	s := string(pg)
	out := map[string]int{}
	for i := strings.IndexByte(s, '<'); i >= 0; i = strings.IndexByte(s, '<') {
		s = s[i+1:]
		end := strings.IndexAny(s, " >\n")
		if end <= 0 {
			continue
		}
		name := strings.ToLower(s[:end])
		if name != "text" && name != "/text" && !strings.HasPrefix(s, `path class="leader"`) {
			out[name]++
		}
		if name == "script" || name == "style" {
			s = s[strings.Index(s, "</"+name):]
		}
	}
	return out
}

func tableSVG(t testing.TB, set post.Set) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, view.WriteTable(&b, set, view.Options{}))
	return b.Bytes()
}

// elements parses XML strictly and counts elements by name. Labels with no room
// are left out, so texts and leaders are not counted.
func elements(t testing.TB, doc []byte) map[string]int {
	t.Helper()
	out := map[string]int{}
	d := xml.NewDecoder(bytes.NewReader(doc))
	leader := 0
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		if e, ok := tok.(xml.StartElement); ok {
			out[e.Name.Local]++
			for _, a := range e.Attr {
				if a.Name.Local == "class" && a.Value == "leader" {
					leader++
				}
			}
		}
	}
	out["path"] -= leader
	delete(out, "text")
	return out
}
