package main

import (
	"go/ast"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// gates are the places, one for each format, where it is decided what of a job's text
// may get in. DEVELOPERS.md lists them; TestHostileText... shows that they hold.
var gates = map[string][]string{
	"post":             {"OneLine"},      // what people read, in page and papers
	"post/view":        {"esc", "clean"}, // markup
	"post/paper":       {"clean"},        // PDF
	"post/rs274/write": {"clean"},        // comments of a program
	"post/dxf":         {"ascii"},        // DXF strings
	"post/record":      {"cell"},         // CSV; the record's JSON goes through encoding/json
	"cmd/spotjig":      nil,
	// the terminal; job.Quote for a new job file
	"cmd/spotjig/terminal": {"hidden"},
}

// TestOneGatePerFormat: in what writes files or to the terminal, characters are judged,
// dropped or escaped in the gates only.
func TestOneGatePerFormat(t *testing.T) {
	manual, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	require.NoError(t, err)
	seen := map[string]bool{}
	for _, s := range sources(t) {
		allowed, writes := gates[s.dir()]
		if !writes || s.test() {
			continue
		}
		for _, d := range s.file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			judges := judgesCharacters(f)
			gate := false
			for _, name := range allowed {
				if f.Name.Name == name {
					gate = true
					seen[s.dir()+"."+name] = true
				}
			}
			assert.True(t, gate || !judges, "%s: %s judges characters: let the gate %v do it", s.path, f.Name.Name, allowed)
		}
	}
	for dir, names := range gates {
		for _, name := range names {
			assert.True(t, seen[dir+"."+name], "%s has no gate %s any more", dir, name)
		}
		if len(names) == 0 {
			continue
		}
		assert.True(t, strings.Contains(string(manual), "`"+dir+"` `"+names[0]+"`"), "%s %s is not in DEVELOPERS.md's table of formats", dir, names[0])
	}
}

// judgesCharacters reports whether a function decides about single characters.
func judgesCharacters(f *ast.FuncDecl) bool {
	found := false
	ast.Inspect(f, func(n ast.Node) bool {
		sel, ok := n.(*ast.SelectorExpr)
		if !ok {
			return !found
		}
		x, ok := sel.X.(*ast.Ident)
		if !ok {
			return !found
		}
		switch name := x.Name + "." + sel.Sel.Name; {
		case name == "html.EscapeString", name == "strings.Map", name == "strings.ToValidUTF8", name == "strconv.IsPrint",
			strings.HasPrefix(name, "unicode.IsControl"), name == "unicode.Is", name == "unicode.IsPrint":
			found = true
		}
		return !found
	})
	return found
}
