package manual

import (
	"bytes"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Escapes as in groff_man_style(7): "\-" is the hyphen that can be copied, "\e" a
// backslash, "\&" keeps a line from being a macro.
func TestWritePage(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, WritePage(&out, Page{Name: "x", Number: 1, Brief: "a test-page", Source: "x 1", Parts: []Part{
		{Title: "TEXT", Text: "one\n.two\n\n'three \\ four °\n\n  set in\n    more"},
		{Title: "words", Sub: true, Terms: []Term{{`--size "9 ft"`, []string{"first", ".second"}}}},
	}}))
	assert.Equal(t, `.TH "X" 1 "" "x 1"
.SH NAME
x \- a test\-page
.SH "TEXT"
one
\&.two
.PP
\&'three \e four \[u00B0]
.PP
.nf
.RS 4
set in
  more
.RE
.fi
.SS "words"
.TP
.B "\-\-size \(dq9 ft\(dq"
first
.br
\&.second
`, out.String())
}

// overstruck is the first half of a bold letter.
var overstruck = regexp.MustCompile(`.\x08`)

// groff, which shows manual pages on most systems, has nothing to say of the reference
// and loses none of its names.
func TestReferencePageByGroff(t *testing.T) {
	if testing.Short() {
		t.Skip("-short: groff is left out")
	}
	groff, err := exec.LookPath("groff")
	if err != nil {
		t.Skip("groff is not installed")
	}
	var page bytes.Buffer
	require.NoError(t, WritePage(&page, ReferencePage("spotjig")))
	cmd := exec.Command(groff, "-man", "-ww", "-Tutf8", "-P-c")
	var shown, said bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = &page, &shown, &said
	require.NoError(t, cmd.Run(), said.String())
	assert.Empty(t, said.String())
	text := strings.ReplaceAll(overstruck.ReplaceAllString(shown.String(), ""), "\u2212", "-") // as some systems show "\-"
	for _, e := range Entries() {
		assert.Contains(t, text, e.Names[0])
	}
}
