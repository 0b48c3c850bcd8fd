package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/problem"
	"spotjig/post/dryrun"
)

// The rules of DEVELOPERS.md that a program can hold code to. Each fault is printed
// as "file:line: fault: remedy". What each rule must find is planted further down.

// root is the repository seen from this package.
const root = "../.."

// source is one parsed file; its path counts from the repository, with slashes.
type source struct {
	path string
	fset *token.FileSet
	file *ast.File
}

// dir is the folder of the file, which is its package.
func (s source) dir() string { return filepath.ToSlash(filepath.Dir(s.path)) }

// test tells a test from what is built into the program.
func (s source) test() bool { return strings.HasSuffix(s.path, "_test.go") }

// fault places and words one fault.
func (s source) fault(at token.Pos, fault, remedy string) string {
	return fmt.Sprintf("%s:%d: %s: %s", s.path, s.fset.Position(at).Line, fault, remedy)
}

// parseSource parses a file; text nil reads it from the disk.
func parseSource(path string, text any) (source, error) {
	fset := token.NewFileSet()
	name := path
	if text == nil {
		name = filepath.Join(root, path)
	}
	f, err := parser.ParseFile(fset, name, text, parser.ParseComments)
	return source{path: path, fset: fset, file: f}, err
}

// sources parses every Go file of the repository.
func sources(t *testing.T) []source {
	t.Helper()
	var out []source
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != root && (strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata") {
			return filepath.SkipDir
		}
		if d.IsDir() || filepath.Ext(path) != ".go" {
			return nil
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		s, err := parseSource(filepath.ToSlash(rel), nil)
		if err != nil {
			return err
		}
		out = append(out, s)
		return nil
	})
	require.NoError(t, err)
	require.Greater(t, len(out), 100, "the walk found too few files")
	return out
}

func TestTidy(t *testing.T) {
	files := sources(t)
	for _, f := range tidy(files) {
		t.Error(f)
	}
}

// tidy returns the faults of files, in the order of the files.
func tidy(files []source) []string {
	packages := map[string][]source{}
	for _, s := range files {
		packages[s.dir()] = append(packages[s.dir()], s)
	}
	var out []string
	for _, s := range files {
		out = append(out, importFaults(s)...)
		out = append(out, nameFaults(s)...)
		out = append(out, worldFaults(s)...)
		out = append(out, stateFaults(s, packages[s.dir()])...)
		out = append(out, docFaults(s)...)
		out = append(out, codeFaults(s)...)
		out = append(out, startFaults(s, packages[s.dir()])...)
	}
	return out
}

// ---- goroutines

// startFaults holds a package that starts goroutines to look for those left behind when
// its tests have ended.
func startFaults(s source, pkg []source) []string {
	if s.test() || forTests(s.dir()) {
		return nil
	}
	var out []string
	ast.Inspect(s.file, func(n ast.Node) bool {
		starts := false
		switch n := n.(type) {
		case *ast.GoStmt:
			starts = true
		case *ast.CallExpr:
			f, ok := n.Fun.(*ast.SelectorExpr)
			starts = ok && f.Sel.Name == "Go"
		}
		if starts && !slices.ContainsFunc(pkg, checksGoroutines) {
			out = append(out, s.fault(n.Pos(), "starts a goroutine that nobody looks for", "give the package a TestMain that calls goleak.VerifyTestMain"))
		}
		return true
	})
	return out
}

// checksGoroutines reports whether a file is a test's with a call of goleak in it.
func checksGoroutines(s source) bool {
	found := false
	ast.Inspect(s.file, func(n ast.Node) bool {
		f, ok := n.(*ast.SelectorExpr)
		if ok && (f.Sel.Name == "VerifyTestMain" || f.Sel.Name == "Find") {
			x, ok := f.X.(*ast.Ident)
			found = found || ok && x.Name == "goleak" && s.test()
		}
		return !found
	})
	return found
}

// ---- rules 1 and 2: imports

const module = "spotjig/"

// camOrder: inside cam each imports only those before it.
var camOrder = []string{"machine", "motion", "jig", "jig/plate", "jig/film", "jig/testpiece", "nest", "path"}

// sideways are the imports between outputs, and between rooms of the command, that are wanted:
// what reads a file back needs its reader, and the manual explains what a dry run finds.
var sideways = []string{
	"post/manual -> post/dryrun",
	"post/dryrun -> post/rs274/read",
	"post/trace -> post/rs274/read",
	"post/proof -> post/rs274/read",
	"post/proof/cut -> post/rs274/read",
	"cmd/spotjig/page -> cmd/spotjig/folder",
	"cmd/spotjig/page -> cmd/spotjig/stamp",
}

// pipeline joins all outputs, and no output knows it. Whoever calls it as a command does,
// for a page, may call whatever a command calls.
const (
	pipeline = "post/work"
	caller   = "post/web/bridge"
)

// unknown are packages that a package must not know about beyond its layer. Jigs of
// plate and of film know only what both share; what comes after takes parts as they are.
// What reads back the figures that are shown does not print them.
var unknown = map[string][]string{
	"cam/jig/film":         {"cam/jig/plate"},
	"cam/jig/testpiece":    {"cam/jig/film"},
	"cam/nest":             {"cam/jig/plate", "cam/jig/film", "cam/jig/testpiece"},
	"cam/path":             {"cam/jig/plate", "cam/jig/film", "cam/jig/testpiece"},
	"post/proof/shown":     {"layout/figure"},
	"post/trace":           {"layout", "layout/job", "cam/jig", "cam/nest", "cam/path"},
	"cmd/spotjig/terminal": {"layout/job", "post/work"},
	"post/dryrun":          {"layout", "layout/job", "cam/jig", "cam/jig/plate", "cam/jig/film", "cam/jig/testpiece", "cam/nest", "cam/path", "post"},
}

// importFaults holds a file to "layout <- cam <- post <- cmd". Tests may import what
// they please but for the pair that must share nothing.
func importFaults(s source) []string {
	var out []string
	for _, spec := range s.file.Imports {
		name, err := strconv.Unquote(spec.Path.Value)
		if err != nil || !strings.HasPrefix(name, module) {
			continue
		}
		if why := importFault(s.dir(), strings.TrimPrefix(name, module), s.test()); why != "" {
			out = append(out, s.fault(spec.Pos(), "imports "+name, why))
		}
	}
	return out
}

// importFault says why one package may not import another, "" when it may.
func importFault(from, to string, test bool) string {
	reader, writer := "post/rs274/read", "post/rs274/write"
	if from == reader && to == writer || from == writer && to == reader && !test {
		return "reader and writer share no code, or a bug of both would pass its own check"
	}
	if test || from == to {
		return ""
	}
	if forTests(to) {
		return "it is for tests only: nothing of it belongs into the program"
	}
	if slices.Contains(unknown[from], to) {
		return from + " must not know of it: hand over what is needed as plain values"
	}
	lf, lt := layer(from), layer(to)
	switch {
	case lt > lf:
		return "imports go one way, layout <- cam <- post <- cmd: move the code down or hand it in"
	case from == "layout/geom" || from == "layout/problem" || from == "layout/figure" || from == "layout/screen":
		return "layout/geom, layout/figure, layout/screen and layout/problem import nothing of ours: hand over plain values"
	case from == "layout" && to != "layout/problem" && to != "layout/geom" && to != "layout/figure" && to != "layout/screen":
		return "layout imports only layout/geom, layout/figure, layout/screen and layout/problem"
	case lf == 1 && lt == 1 && camRank(to) >= camRank(from):
		return "inside cam: " + strings.Join(camOrder, " <- ")
	case from == caller && lt <= 2:
		return ""
	case to == caller && lf < 3:
		return "only a page's program calls it"
	case to == pipeline && lf == 2:
		return "outputs do not know the pipeline: it calls them"
	case lf == 3 && lt == 3 && from != "cmd/spotjig" && !slices.Contains(sideways, from+" -> "+to):
		return "rooms of the command do not know each other: let the command pass it on"
	case lf == 2 && lt == 2 && from != pipeline && to != "post" && path.Dir(from) != to && !slices.Contains(sideways, from+" -> "+to):
		return "outputs do not know each other: pass it through post.Set"
	}
	return ""
}

// forTests tells a package that only tests import, by the end of its name.
func forTests(dir string) bool { return strings.HasSuffix(dir, "test") }

// layer numbers the top folders in the order of imports.
func layer(dir string) int {
	top, _, _ := strings.Cut(dir, "/")
	return slices.Index([]string{"layout", "cam", "post", "cmd"}, top)
}

// camRank is a package's place in camOrder.
func camRank(dir string) int {
	return slices.Index(camOrder, strings.TrimPrefix(dir, "cam/"))
}

// ---- rule 3: no package for leftovers

var leftovers = []string{"util", "utils", "helper", "helpers", "common", "base", "types", "misc"}

func nameFaults(s source) []string {
	file := strings.TrimSuffix(strings.TrimSuffix(filepath.Base(s.path), ".go"), "_test")
	for _, word := range append(strings.Split(s.dir(), "/"), strings.Split(file, "_")...) {
		if slices.Contains(leftovers, strings.ToLower(word)) {
			return []string{s.fault(s.file.Package, "a place for leftovers, "+word, "name it after its idea, beside its caller or in the lower package")}
		}
	}
	return nil
}

// ---- rule 4: libraries do not touch the world

// worldPackages are those a library does without; a slash at the end means all within.
var worldPackages = []string{"os", "os/", "flag", "log", "log/", "math/rand", "math/rand/", "syscall", "net", "net/"}

// worldCalls are functions of packages that are otherwise welcome.
var worldCalls = map[string][]string{
	"time": {"Now", "Since", "Until"},
	"fmt":  {"Print", "Printf", "Println", "Scan", "Scanf", "Scanln"},
}

func worldFaults(s source) []string {
	if layer(s.dir()) == 3 || s.test() || forTests(s.dir()) {
		return nil
	}
	var out []string
	local := map[string]string{} // name in the file -> package
	for _, spec := range s.file.Imports {
		name, _ := strconv.Unquote(spec.Path.Value)
		for _, p := range worldPackages {
			if name == p || strings.HasSuffix(p, "/") && strings.HasPrefix(name, p) {
				out = append(out, s.fault(spec.Pos(), "a library imports "+name, "take a reader, a writer or an option, and let cmd open it"))
				break
			}
		}
		if worldCalls[name] != nil {
			local[name] = name
			if spec.Name != nil {
				delete(local, name)
				local[spec.Name.Name] = name
			}
		}
	}
	ast.Inspect(s.file, func(n ast.Node) bool {
		sel, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		x, ok := sel.X.(*ast.Ident)
		if ok && x.Obj == nil && slices.Contains(worldCalls[local[x.Name]], sel.Sel.Name) {
			out = append(out, s.fault(sel.Pos(), "a library calls "+local[x.Name]+"."+sel.Sel.Name, "take it as an argument: same input, same bytes"))
		}
		return true
	})
	return out
}

// ---- rule 8: no global state

// stateFaults finds package-level variables that are neither error values, embedded
// files, texts of the linker's nor tables nobody writes to, and init functions that do work.
func stateFaults(s source, pkg []source) []string {
	if s.test() {
		return nil
	}
	var out []string
	for _, d := range s.file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Recv == nil && d.Name.Name == "init" && len(d.Body.List) > 0 {
				out = append(out, s.fault(d.Pos(), "init does work", "do it where it is asked for"))
			}
		case *ast.GenDecl:
			doc := d.Doc.Text() + embedded(d.Doc)
			if d.Tok != token.VAR || strings.Contains(doc, "go:embed") || strings.Contains(doc, "-X main.") {
				continue
			}
			for _, spec := range d.Specs {
				out = append(out, varFaults(s, spec.(*ast.ValueSpec), pkg)...)
			}
		}
	}
	return out
}

// embedded returns the directives of a comment, which Text leaves out.
func embedded(g *ast.CommentGroup) string {
	if g == nil {
		return ""
	}
	var b strings.Builder
	for _, c := range g.List {
		b.WriteString(c.Text)
	}
	return b.String()
}

func varFaults(s source, v *ast.ValueSpec, pkg []source) []string {
	if strings.Contains(embedded(v.Doc), "go:embed") {
		return nil
	}
	var out []string
	for i, name := range v.Names {
		var value ast.Expr
		if i < len(v.Values) {
			value = v.Values[i]
		}
		switch {
		case name.Name == "_":
		case isError(value):
			if !strings.HasPrefix(strings.ToLower(name.Name), "err") {
				out = append(out, s.fault(name.Pos(), name.Name+" is an error value", "call it err... or Err..."))
			}
		case value == nil:
			out = append(out, s.fault(name.Pos(), "package variable "+name.Name+" has no value", "pass it in an options struct"))
		case isNumber(value):
			out = append(out, s.fault(name.Pos(), "package variable "+name.Name+" is one plain value", "make it a const"))
		case name.IsExported():
			out = append(out, s.fault(name.Pos(), "exported variable "+name.Name, "other packages could write to it: return it from a function"))
		default:
			for _, p := range pkg {
				out = append(out, writes(p, name.Name, v)...)
			}
		}
	}
	return out
}

// isError tells an error value by how it is made.
func isError(e ast.Expr) bool {
	call, ok := e.(*ast.CallExpr)
	if !ok {
		return false
	}
	sel, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	x, ok := sel.X.(*ast.Ident)
	return ok && (x.Name == "errors" && sel.Sel.Name == "New" || x.Name == "fmt" && sel.Sel.Name == "Errorf")
}

// isNumber tells a plain number, text or truth value, which a const can hold.
func isNumber(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.BasicLit:
		return true
	case *ast.Ident:
		return e.Name == "true" || e.Name == "false"
	case *ast.UnaryExpr:
		return e.Op != token.AND && isNumber(e.X)
	case *ast.BinaryExpr:
		return isNumber(e.X) && isNumber(e.Y)
	case *ast.ParenExpr:
		return isNumber(e.X)
	}
	return false
}

// writes finds where a file of the package writes to a package variable or takes
// its address. A local of the same name is another thing: the parser resolves it.
func writes(s source, name string, decl *ast.ValueSpec) []string {
	if s.test() {
		return nil
	}
	var out []string
	ours := func(e ast.Expr) bool {
		id := rootName(e)
		return id != nil && id.Name == name && (id.Obj == nil || id.Obj.Decl == decl)
	}
	add := func(at token.Pos, how string) {
		out = append(out, s.fault(at, how+" the package variable "+name, "build it once, or keep it in a value that is passed on"))
	}
	ast.Inspect(s.file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.AssignStmt:
			for _, l := range n.Lhs {
				if n.Tok != token.DEFINE && ours(l) {
					add(n.Pos(), "writes to")
				}
			}
		case *ast.IncDecStmt:
			if ours(n.X) {
				add(n.Pos(), "writes to")
			}
		case *ast.UnaryExpr:
			if n.Op == token.AND && ours(n.X) {
				add(n.Pos(), "takes the address of")
			}
		case *ast.CallExpr:
			if f, ok := n.Fun.(*ast.Ident); ok && slices.Contains([]string{"delete", "clear", "copy"}, f.Name) && len(n.Args) > 0 && ours(n.Args[0]) {
				add(n.Pos(), "writes to")
			}
		}
		return true
	})
	return out
}

// rootName is the name that an expression such as a.b[i] begins with.
func rootName(e ast.Expr) *ast.Ident {
	for {
		switch x := e.(type) {
		case *ast.Ident:
			return x
		case *ast.SelectorExpr:
			e = x.X
		case *ast.IndexExpr:
			e = x.X
		case *ast.SliceExpr:
			e = x.X
		case *ast.StarExpr:
			e = x.X
		case *ast.ParenExpr:
			e = x.X
		default:
			return nil
		}
	}
}

// ---- exported names have a doc comment

func docFaults(s source) []string {
	if s.test() {
		return nil
	}
	var out []string
	want := func(name *ast.Ident, docs ...*ast.CommentGroup) {
		for _, d := range docs {
			if strings.TrimSpace(d.Text()) != "" {
				return
			}
		}
		if name.IsExported() {
			out = append(out, s.fault(name.Pos(), "exported "+name.Name+" has no doc comment", "say what it gives, in which unit and frame, and when it errs"))
		}
	}
	for _, d := range s.file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Recv == nil || receiver(d).IsExported() {
				want(d.Name, d.Doc)
			}
		case *ast.GenDecl:
			for _, spec := range d.Specs {
				switch spec := spec.(type) {
				case *ast.TypeSpec:
					want(spec.Name, d.Doc, spec.Doc, spec.Comment)
				case *ast.ValueSpec:
					for _, n := range spec.Names {
						want(n, d.Doc, spec.Doc, spec.Comment)
					}
				}
			}
		}
	}
	return out
}

// receiver is the name of a method's type.
func receiver(d *ast.FuncDecl) *ast.Ident {
	e := d.Recv.List[0].Type
	for {
		switch x := e.(type) {
		case *ast.StarExpr:
			e = x.X
		case *ast.IndexExpr:
			e = x.X
		case *ast.IndexListExpr:
			e = x.X
		case *ast.Ident:
			return x
		default:
			return ast.NewIdent("_")
		}
	}
}

// ---- codes are in the manual

// codeWord is a code as it stands in the source, between quotes.
var codeWord = regexp.MustCompile(`^"([DFJLMS][0-9]{3})"$`)

// knownCodes are those that problem.Codes and dryrun.Codes explain.
func knownCodes() []string {
	var out []string
	for _, c := range problem.Codes() {
		out = append(out, c.ID)
	}
	return append(out, dryrun.Codes()...)
}

func codeFaults(s source) []string {
	if s.test() {
		return nil
	}
	var out []string
	known := knownCodes()
	ast.Inspect(s.file, func(n ast.Node) bool {
		lit, ok := n.(*ast.BasicLit)
		if !ok || lit.Kind != token.STRING {
			return true
		}
		m := codeWord.FindStringSubmatch(lit.Value)
		if m != nil && !slices.Contains(known, m[1]) {
			out = append(out, s.fault(lit.Pos(), "code "+m[1]+" is not explained", "add it to layout/problem/codes.txt, or to post/dryrun/codes.txt when a program is at fault"))
		}
		return true
	})
	return out
}

// Each rule is held to what it must find, so that a rule that finds nothing fails.
func TestTidyFindsWhatIsPlanted(t *testing.T) {
	for _, tt := range []struct {
		name, path, text string
		want             []string // beginnings of the faults, in order
	}{
		{"clean", "cam/nest/a.go", "// Package nest is.\npackage nest\n\nimport \"spotjig/layout/geom\"\n\nvar tab = map[string]int{\"a\": 1}\nvar _ = geom.X\n", nil},
		{"up", "layout/a.go", "package layout\nimport _ \"spotjig/cam/machine\"\n", []string{"layout/a.go:2: imports spotjig/cam/machine"}},
		{"up to cmd", "post/view/a.go", "package view\nimport _ \"spotjig/cmd/spotjig\"\n", []string{"post/view/a.go:2: imports"}},
		{"cam backwards", "cam/motion/a.go", "package motion\nimport _ \"spotjig/cam/jig\"\n", []string{"cam/motion/a.go:2: imports"}},
		{"geom alone", "layout/geom/a.go", "package geom\nimport _ \"spotjig/layout/problem\"\n", []string{"layout/geom/a.go:2: imports"}},
		{"layout and job", "layout/a.go", "package layout\nimport _ \"spotjig/layout/job\"\n", []string{"layout/a.go:2: imports"}},
		{"problem is a leaf", "layout/problem/a.go", "package problem\nimport _ \"spotjig/layout\"\n", []string{"layout/problem/a.go:2: imports"}},
		{"proofs read figures", "post/proof/shown/a.go", "package shown\nimport _ \"spotjig/layout/figure\"\n", []string{"post/proof/shown/a.go:2: imports"}},
		{"sideways", "post/paper/a.go", "package paper\nimport _ \"spotjig/post/view\"\n", []string{"post/paper/a.go:2: imports"}},
		{"pipeline joins", "post/work/a.go", "package work\nimport _ \"spotjig/post/view\"\n", nil},
		{"pipeline known", "post/view/a.go", "package view\nimport _ \"spotjig/post/work\"\n", []string{"post/view/a.go:2: imports"}},
		{"goroutine", "cam/path/a.go", "package path\nfunc f() {\n\tgo f()\n}\n", []string{"cam/path/a.go:3: starts a goroutine"}},
		{"goroutine of a group", "cam/path/a.go", "package path\nfunc f(g interface{ Go(func()) }) {\n\tg.Go(func() {})\n}\n", []string{"cam/path/a.go:3: starts a goroutine"}},
		{"writer in reader", "post/rs274/read/a_test.go", "package read\nimport _ \"spotjig/post/rs274/write\"\n", []string{"post/rs274/read/a_test.go:2: imports"}},
		{"reader in writer", "post/rs274/write/a.go", "package write\nimport _ \"spotjig/post/rs274/read\"\n", []string{"post/rs274/write/a.go:2: imports"}},
		{"film knows plate", "cam/jig/film/a.go", "// Package film is.\npackage film\nimport _ \"spotjig/cam/jig/plate\"\n", []string{"cam/jig/film/a.go:3: imports"}},
		{"frame knows a kind", "cam/jig/a.go", "package jig\nimport _ \"spotjig/cam/jig/plate\"\n", []string{"cam/jig/a.go:2: imports"}},
		{"sheets know a kind", "cam/nest/a.go", "// Package nest is.\npackage nest\nimport _ \"spotjig/cam/jig/film\"\n", []string{"cam/nest/a.go:3: imports"}},
		{"dry run knows jigs", "post/dryrun/a.go", "package dryrun\nimport _ \"spotjig/cam/jig\"\n", []string{"post/dryrun/a.go:2: imports"}},
		{"dry run reads", "post/dryrun/a.go", "package dryrun\nimport (\n_ \"spotjig/post/rs274/read\"\n_ \"spotjig/layout/problem\"\n)\n", nil},
		{"rooms of the command", "cmd/spotjig/folder/a.go", "// Package folder is.\npackage folder\nimport _ \"spotjig/cmd/spotjig/terminal\"\n", []string{"cmd/spotjig/folder/a.go:3: imports"}},
		{"leftovers", "cam/path/arc_utils.go", "package path\n", []string{"cam/path/arc_utils.go:1: a place for leftovers, utils"}},
		{"leftover folder", "cam/common/a_test.go", "package common\n", []string{"cam/common/a_test.go:1: a place for leftovers, common"}},
		{"world", "cam/path/a.go", "package path\nimport \"os\"\nvar x = os.Args\n", []string{"cam/path/a.go:2: a library imports os"}},
		{"world within", "cam/path/a.go", "package path\nimport _ \"math/rand/v2\"\n", []string{"cam/path/a.go:2: a library imports math/rand/v2"}},
		{"clock", "post/a.go", "package post\nimport tm \"time\"\nfunc f() int64 {\nreturn tm.Now().Unix()\n}\n", []string{"post/a.go:4: a library calls time.Now"}},
		{"print", "post/a.go", "package post\nimport \"fmt\"\nfunc f() { fmt.Println(); fmt.Sprint() }\n", []string{"post/a.go:3: a library calls fmt.Println"}},
		{"for tests", "cmd/spotjig/a.go", "package main\nimport _ \"spotjig/post/view/browsertest\"\n", []string{"cmd/spotjig/a.go:2: imports spotjig/post/view/browsertest: it is for tests only"}},
		{"world in a package for tests", "post/view/browsertest/a.go", "package browsertest\nimport _ \"os\"\n", nil},
		{"world in cmd", "cmd/spotjig/a.go", "package main\nimport _ \"os\"\n", nil},
		{"world in a test", "cam/path/a_test.go", "package path\nimport _ \"os\"\n", nil},
		{"no value", "cam/jig/a.go", "package jig\nvar n int\n", []string{"cam/jig/a.go:2: package variable n has no value"}},
		{"a number", "cam/jig/a.go", "package jig\nvar tol = -1e-9\n", []string{"cam/jig/a.go:2: package variable tol is one plain value"}},
		{"exported table", "cam/jig/a.go", "package jig\n// Tab is.\nvar Tab = []int{1}\n", []string{"cam/jig/a.go:3: exported variable Tab"}},
		{"written table", "cam/jig/a.go", "package jig\nvar tab = []int{1}\nfunc f() {\ntab[0] = 2\ntab2 := tab\ntab2[0] = 1\n}\n", []string{"cam/jig/a.go:4: writes to the package variable tab"}},
		{"deleted entry", "cam/jig/a.go", "package jig\nvar tab = map[int]int{}\nfunc f() { delete(tab, 1) }\n", []string{"cam/jig/a.go:3: writes to"}},
		{"address of a table", "cam/jig/a.go", "package jig\nvar tab = [2]int{}\nfunc f() *int { return &tab[0] }\n", []string{"cam/jig/a.go:3: takes the address of"}},
		{"local of that name", "cam/jig/a.go", "package jig\nvar tab = []int{1}\nfunc f(tab []int) { tab[0] = 2 }\n", nil},
		{"errors", "cam/jig/a.go", "package jig\nimport \"errors\"\n// ErrX is.\nvar ErrX = errors.New(\"x\")\n", nil},
		{"error by another name", "cam/jig/a.go", "package jig\nimport \"errors\"\nvar broken = errors.New(\"x\")\n", []string{"cam/jig/a.go:3: broken is an error value"}},
		{"set by the linker", "cmd/spotjig/a.go", "package main\n\n// s is set: -ldflags \"-X main.s=1\".\nvar s string\n", nil},
		{"embedded", "cam/jig/a.go", "package jig\nimport _ \"embed\"\n//go:embed x\nvar text string\n", nil},
		{"init", "cam/jig/a.go", "package jig\nfunc init() { println() }\n", []string{"cam/jig/a.go:2: init does work"}},
		{"no doc", "cam/jig/a.go", "package jig\ntype T struct{}\nfunc (T) M() {}\nfunc F() {}\nconst C = 1\n", []string{
			"cam/jig/a.go:2: exported T has no", "cam/jig/a.go:3: exported M has no", "cam/jig/a.go:4: exported F has no", "cam/jig/a.go:5: exported C has no"}},
		{"inner method", "cam/jig/a.go", "package jig\ntype t struct{}\nfunc (t) M() {}\n", nil},
		{"code", "cam/jig/a.go", "package jig\nvar c = []string{\"J999\", \"J001\", \"D999\"}\n", []string{"cam/jig/a.go:2: code J999 is not", "cam/jig/a.go:2: code D999 is not"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := parseSource(tt.path, tt.text)
			require.NoError(t, err)
			got := tidy([]source{s})
			require.Len(t, got, len(tt.want), "%q", got)
			for i, want := range tt.want {
				assert.True(t, strings.HasPrefix(got[i], want), "want %q, got %q", want, got[i])
			}
		})
	}
}
