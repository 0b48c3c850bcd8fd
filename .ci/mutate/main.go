// Mutate changes the program in one small way at a time and asks whether a test notices.
//
//	go run .ci/mutate/main.go [-seed N] [-n COUNT] [-run REGEXP] [-second PACKAGES]
//		[-secondrun REGEXP] [-own=false] [-short=false] ./cam/geom ./cam/path
//
// It needs a shell whose ulimit knows -v, to bound memory. Interrupted, it reports on
// what was tried. -h says what the flags do.
//
// A change is a mutant; one that no test notices has survived: it is harmless, or it
// shows a hole in the tests. Every mutant of a package is compiled into its tests at
// once, through an overlay, each behind a switch: an environment variable holds the
// number of the one that is on. The package's own tests run first, those that reach the
// mutant, quickest first; what survives them meets the tests of -second. Mutants that no
// test reaches are listed apart: they are holes as well.
//
// Mutants:
//
//	a comparison takes or leaves its edge (< <=), is turned (== !=)
//	a condition is never true, is always true (stronger than negated)
//	&& becomes ||, and back
//	a term or factor is dropped; + - and * / are swapped; a minus sign is dropped
//	a float constant grows by 1 %, a whole one by 1 (in functions and tables)
//	min becomes max, sin cos, floor ceil
//	an assignment or a call without result is left out
//	a function returns at once, with zero values: a check that never fails
//
// Named constants, text and its joining, := and returned values are left alone.
package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

type options struct {
	seed      uint64
	count     int
	run       string
	second    string
	secondRun string
	short     bool
	own       bool
	packages  []string
}

func main() {
	var o options
	flag.Uint64Var(&o.seed, "seed", 1, "seed of the sample")
	flag.IntVar(&o.count, "n", 0, "mutants tried a package, 0 for all")
	flag.StringVar(&o.run, "run", "", "try only mutants whose line of the list matches")
	flag.StringVar(&o.second, "second", "./cmd/spotjig", "packages whose tests survivors meet, by comma")
	flag.StringVar(&o.secondRun, "secondrun",
		"PlantedFaults|EveryJob|EveryGame|EveryTestPiece|SameJob|TestPiece|FailedCheck|TestVerify|MakerFinds", "tests of -second to use")
	flag.BoolVar(&o.short, "short", true, "run tests with -test.short")
	flag.BoolVar(&o.own, "own", true, "run the package's own tests; false: those of -second alone")
	flag.Parse()
	o.packages = flag.Args()
	if len(o.packages) == 0 {
		flag.Usage()
		os.Exit(2)
	}
	if err := mutate(o); err != nil {
		fmt.Fprintln(os.Stderr, "mutate:", err)
		os.Exit(1)
	}
}

// mutate does all of it until it is interrupted; then it reports on what was tried. It finds and builds the mutants, tries them, prints the lists.
func mutate(o options) error {
	only, err := regexp.Compile(o.run)
	if err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	tmp, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	pkgs, err := load(o.packages)
	if err != nil {
		return err
	}
	b := &build{tmp: tmp, pkgs: pkgs, short: o.short, bad: map[string]bool{}}
	for _, p := range pkgs {
		if !o.own {
			break
		}
		if p.own, err = b.suite(p.ImportPath, p.ImportPath, "."); err != nil {
			return err
		}
	}
	var second []*suite
	for _, name := range strings.FieldsFunc(o.second, func(r rune) bool { return r == ',' }) {
		s, err := b.suite(name, b.all(), o.secondRun)
		if err != nil {
			return err
		}
		second = append(second, s)
	}
	for _, p := range pkgs {
		p.report(p.try(ctx, p.choose(only, o), o.own, second))
	}
	return nil
}

// ---- packages

// pkg is one package under test, as "go list" tells it, with its mutants.
type pkg struct {
	ImportPath, Dir, Name, Export string
	GoFiles                       []string
	Module                        *struct{ Dir string }
	DepOnly                       bool

	own     *suite
	mutants []mutant
}

// load lists and parses the named packages. Imports are taken from compiled export data.
func load(names []string) ([]*pkg, error) {
	out, err := goCommand(append([]string{"list", "-export", "-deps", "-json=ImportPath,Dir,Name,Export,GoFiles,Module,DepOnly"}, names...)...)
	if err != nil {
		return nil, err
	}
	exports := map[string]string{}
	var pkgs []*pkg
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		p := &pkg{}
		if err := dec.Decode(p); errors.Is(err, io.EOF) {
			return pkgs, check(pkgs, exports)
		} else if err != nil {
			return nil, err
		}
		exports[p.ImportPath] = p.Export
		if !p.DepOnly {
			pkgs = append(pkgs, p)
		}
	}
}

// goCommand runs the go command and returns what it prints.
func goCommand(args ...string) ([]byte, error) {
	cmd := exec.Command("go", args...)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go %s: %w\n%s", args[0], err, errs.String())
	}
	return out, nil
}

// check type-checks the packages and finds their mutants, numbered from 1 through all.
func check(pkgs []*pkg, exports map[string]string) error {
	number := 1
	for _, p := range pkgs {
		fset := token.NewFileSet()
		imports := importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
		info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}}
		var files []*ast.File
		for _, name := range p.GoFiles {
			f, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, parser.ParseComments)
			if err != nil {
				return err
			}
			files = append(files, f)
		}
		tp, err := (&types.Config{Importer: imports}).Check(p.ImportPath, fset, files, info)
		if err != nil {
			return err
		}
		for i, f := range files {
			path := filepath.Join(p.Dir, p.GoFiles[i])
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			rel, _ := filepath.Rel(p.Module.Dir, path)
			m := &finder{fset: fset, info: info, pkg: tp, file: f, text: text, path: filepath.ToSlash(rel), number: number}
			m.find()
			number = m.number
			p.mutants = append(p.mutants, m.mutants...)
		}
	}
	return nil
}

// ---- mutants

// mutant is one change. Its edits put the switch around what changes; a site with two
// mutants shares them.
type mutant struct {
	number    int
	file      string // from the module's root
	line, col int    // of the change
	at        place  // what a coverage profile must hold for a test to reach it
	what      string
	edits     []edit
}

type place struct{ line, col int }

// String is the mutant's line in lists, and what -run looks at.
func (m mutant) String() string { return fmt.Sprintf("%s:%d: %s", m.file, m.line, m.what) }

// edit puts text in place of the bytes [from, to) of a file.
type edit struct {
	from, to int
	text     string
	closes   bool
}

// finder walks one file. Wrappers keep every operand where it stands and evaluate it as
// before, so that code grows by a call and no line moves.
type finder struct {
	fset    *token.FileSet
	info    *types.Info
	pkg     *types.Package
	file    *ast.File
	text    []byte
	path    string
	number  int
	reach   token.Pos // where coverage counts, NoPos for the node itself
	mutants []mutant
}

func (f *finder) offset(p token.Pos) int { return f.fset.Position(p).Offset }

// source is the text of a node on one line, shortened.
func (f *finder) source(n ast.Node) string {
	s := strings.Join(strings.Fields(string(f.text[f.offset(n.Pos()):f.offset(n.End())])), " ")
	if r := []rune(s); len(r) > 70 {
		return string(r[:67]) + "..."
	}
	return s
}

// site records the mutants of one place: one a description, all with the same edits.
func (f *finder) site(n ast.Node, edits []edit, what ...string) {
	at := n.Pos()
	if f.reach.IsValid() {
		at = f.reach
	}
	p, r := f.fset.Position(n.Pos()), f.fset.Position(at)
	for _, w := range what {
		f.mutants = append(f.mutants, mutant{f.number, f.path, p.Line, p.Column, place{r.Line, r.Column}, w, edits})
		f.number++
	}
}

// around puts text before and behind a node.
func (f *finder) around(n ast.Node, open, end string) []edit {
	from, to := f.offset(n.Pos()), f.offset(n.End())
	return []edit{{from, from, open, false}, {to, to, end, true}}
}

// between replaces what stands between two operands; lines stay.
func (f *finder) between(x, y ast.Expr, text string) edit {
	from, to := f.offset(x.End()), f.offset(y.Pos())
	return edit{from, to, text + strings.Repeat("\n", bytes.Count(f.text[from:to], []byte("\n"))), false}
}

// find visits the functions and tables of the file.
func (f *finder) find() {
	for _, d := range f.file.Decls {
		switch d := d.(type) {
		case *ast.GenDecl:
			if d.Tok == token.VAR {
				f.walk(d)
			}
		case *ast.FuncDecl:
			if d.Body != nil && len(d.Body.List) > 0 {
				f.early(d)
				f.walk(d.Body)
			}
		}
	}
}

// early lets a function return at once.
func (f *finder) early(d *ast.FuncDecl) {
	var zero []string
	if d.Type.Results != nil {
		for _, r := range d.Type.Results.List {
			t := string(f.text[f.offset(r.Type.Pos()):f.offset(r.Type.End())])
			for range max(1, len(r.Names)) {
				// A type of several lines is put on one, where ; ends its fields.
				zero = append(zero, "*new("+strings.ReplaceAll(strings.ReplaceAll(t, "{\n", "{"), "\n", ";")+")")
			}
		}
	}
	from := f.offset(d.Body.Lbrace) + 1
	text := fmt.Sprintf(" if mutantOn(%d) { return %s };", f.number, strings.Join(zero, ", "))
	f.reach = d.Body.List[0].Pos()
	f.site(d, []edit{{from, from, text, false}}, d.Name.Name+" returns at once")
	f.reach = token.NoPos
}

func (f *finder) walk(root ast.Node) {
	ast.Inspect(root, func(n ast.Node) bool { return f.visit(n) })
}

// visit handles one node and says whether to go on below it.
func (f *finder) visit(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.GenDecl:
		return n.Tok == token.VAR
	case *ast.ArrayType, *ast.StructType, *ast.InterfaceType, *ast.FuncType:
		return false
	case *ast.IfStmt:
		f.condition(n.Cond, true)
	case *ast.ForStmt:
		f.condition(n.Cond, false)
	case *ast.SwitchStmt:
		return f.cases(n)
	case *ast.TypeSwitchStmt:
		f.walk(n.Body)
		return false
	case *ast.BlockStmt:
		f.statements(n.List)
	case *ast.CaseClause:
		f.statements(n.Body)
	case *ast.KeyValueExpr:
		f.walk(n.Value)
		return false
	case *ast.AssignStmt:
		f.assign(n)
	case *ast.CallExpr:
		return f.call(n)
	case ast.Expr:
		return f.expression(n)
	}
	return true
}

// condition switches what an if, a case or a loop hangs on. A loop that never ends says
// nothing about tests.
func (f *finder) condition(c ast.Expr, always bool) {
	if c == nil || f.constant(c) {
		return
	}
	what := []string{"never: " + f.source(c)}
	if always {
		what = append(what, "always: "+f.source(c))
	}
	f.site(c, f.around(c, fmt.Sprintf("mutantCond(%d, ", f.number), ")"), what...)
}

// cases visits a switch: its cases are reached when the switch is.
func (f *finder) cases(s *ast.SwitchStmt) bool {
	if s.Init != nil {
		f.walk(s.Init)
	}
	if s.Tag != nil {
		f.walk(s.Tag)
	}
	for _, c := range s.Body.List {
		c := c.(*ast.CaseClause)
		f.reach = s.Pos()
		for _, e := range c.List {
			if s.Tag == nil {
				f.condition(e, true)
			}
			f.walk(e)
		}
		f.reach = token.NoPos
		f.statements(c.Body)
		for _, b := range c.Body {
			f.walk(b)
		}
	}
	return false
}

// statements leaves out assignments and calls.
func (f *finder) statements(list []ast.Stmt) {
	for _, s := range list {
		switch s := s.(type) {
		case *ast.ExprStmt:
			c, ok := s.X.(*ast.CallExpr)
			if !ok || f.source(c.Fun) == "panic" {
				continue
			}
		case *ast.IncDecStmt:
		case *ast.AssignStmt:
			if id, ok := s.Lhs[0].(*ast.Ident); s.Tok == token.DEFINE || ok && id.Name == "_" && len(s.Lhs) == 1 {
				continue
			}
		default:
			continue
		}
		f.site(s, f.around(s, fmt.Sprintf("if !mutantOn(%d) { ", f.number), " }"), "left out: "+f.source(s))
	}
}

// assign turns += into -= and *= into /=.
func (f *finder) assign(a *ast.AssignStmt) {
	to := map[token.Token]string{token.ADD_ASSIGN: "-=", token.SUB_ASSIGN: "+=", token.MUL_ASSIGN: "/=", token.QUO_ASSIGN: "*="}[a.Tok]
	if to == "" || !f.number64(a.Lhs[0]) {
		return
	}
	wrap := "mutantMinus"
	if to == "/=" || to == "*=" {
		if wrap = "mutantInverse"; !f.float(a.Lhs[0]) {
			return
		}
	}
	edits := f.around(a.Rhs[0], fmt.Sprintf("%s(%d, %s(", wrap, f.number, f.typeName(a.Lhs[0])), "))")
	f.site(a, edits, fmt.Sprintf("%s becomes %s: %s", a.Tok, to, f.source(a)))
}

// call swaps functions for their counterparts. Type arguments are not visited.
func (f *finder) call(c *ast.CallExpr) bool {
	if f.constant(c) {
		f.literal(c)
		return false
	}
	name := f.source(c.Fun)
	switch {
	case f.info.Types[c.Fun].IsBuiltin() && (name == "min" || name == "max") && f.number64(c):
		to := map[string]string{"min": "max", "max": "min"}[name]
		open := fmt.Sprintf("mutant%s(%d, ", strings.ToUpper(name[:1])+name[1:], f.number)
		f.site(c, []edit{{f.offset(c.Pos()), f.offset(c.Lparen) + 1, open, false}}, to+" for "+f.source(c))
	case strings.HasPrefix(name, "math."):
		other := map[string]string{"Sin": "Cos", "Cos": "Sin", "Min": "Max", "Max": "Min", "Floor": "Ceil", "Ceil": "Floor"}
		if to, ok := other[name[5:]]; ok {
			f.site(c, f.around(c.Fun, fmt.Sprintf("mutantFunc(%d, math.%s, ", f.number, to), ")"), to+" for "+f.source(c))
		}
	}
	if f.info.Types[c.Fun].IsType() {
		for _, a := range c.Args {
			f.walk(a)
		}
		return false
	}
	return true
}

// expression switches operators and constants.
func (f *finder) expression(e ast.Expr) bool {
	if f.info.Types[e].IsType() {
		return false
	}
	if f.constant(e) {
		f.literal(e)
		return false
	}
	switch e := e.(type) {
	case *ast.UnaryExpr:
		if e.Op == token.SUB {
			f.site(e, f.around(e.X, fmt.Sprintf("mutantMinus(%d, ", f.number), ")"), "minus dropped: "+f.source(e))
		}
	case *ast.BinaryExpr:
		f.binary(e)
		return e.Op != token.SHL && e.Op != token.SHR
	}
	return true
}

func (f *finder) binary(e *ast.BinaryExpr) {
	wrap := func(name string) []edit {
		return append(f.around(e, fmt.Sprintf("%s(%d, ", name, f.number), ")"), f.between(e.X, e.Y, ", "))
	}
	swap := map[token.Token][2]string{
		token.LSS: {"mutantLess", "<="}, token.LEQ: {"mutantLessEqual", "<"}, token.GTR: {"mutantMore", ">="}, token.GEQ: {"mutantMoreEqual", ">"},
		token.ADD: {"mutantAdd", "-"}, token.SUB: {"mutantSub", "+"}, token.MUL: {"mutantMul", "/"}, token.QUO: {"mutantQuo", "*"},
	}
	what := func(to string) string { return fmt.Sprintf("%s becomes %s: %s", e.Op, to, f.source(e)) }
	switch e.Op {
	case token.LSS, token.LEQ, token.GTR, token.GEQ:
		f.site(e, wrap(swap[e.Op][0]), what(swap[e.Op][1]))
	case token.EQL:
		f.site(e, f.around(e, fmt.Sprintf("mutantNot(%d, ", f.number), ")"), what("!="))
	case token.NEQ:
		f.site(e, f.around(e, fmt.Sprintf("mutantNot(%d, ", f.number), ")"), what("=="))
	case token.ADD, token.SUB, token.MUL, token.QUO:
		if f.number64(e) {
			f.site(e, wrap(swap[e.Op][0]), what(swap[e.Op][1]), fmt.Sprintf("dropped, %s %s: %s", e.Op, f.source(e.Y), f.source(e)))
		}
	case token.LAND, token.LOR:
		// a && b is turned into a || b by turning a, b and the whole.
		end := fmt.Sprintf(") != mutantOn(%d))", f.number)
		edits := append(f.around(e.Y, "((", end+end), f.around(e.X, "((((", end)...)
		f.site(e, edits, what(map[token.Token]string{token.LAND: "||", token.LOR: "&&"}[e.Op]))
	}
}

// literal switches a constant that is written out: the largest constant expression that
// holds a literal.
func (f *finder) literal(e ast.Expr) {
	written := false
	ast.Inspect(e, func(n ast.Node) bool {
		l, ok := n.(*ast.BasicLit)
		written = written || ok && l.Kind != token.STRING
		return true
	})
	t, ok := f.info.Types[e].Type.Underlying().(*types.Basic)
	if !written || !ok || t.Info()&types.IsNumeric == 0 || t.Info()&types.IsUntyped != 0 {
		return
	}
	name, what := "mutantWhole", " grows by 1"
	if t.Info()&types.IsFloat != 0 {
		name, what = "mutantFloat", " grows by 1 %"
	}
	f.site(e, f.around(e, fmt.Sprintf("%s(%d, %s(", name, f.number, f.typeName(e)), "))"), f.source(e)+what)
}

func (f *finder) constant(e ast.Expr) bool { return f.info.Types[e].Value != nil }

// number64 tells numbers, of any size, from text.
func (f *finder) number64(e ast.Expr) bool {
	t, ok := f.info.Types[e].Type.Underlying().(*types.Basic)
	return ok && t.Info()&types.IsNumeric != 0
}

func (f *finder) float(e ast.Expr) bool {
	t, ok := f.info.Types[e].Type.Underlying().(*types.Basic)
	return ok && t.Info()&types.IsFloat != 0
}

func (f *finder) typeName(e ast.Expr) string {
	return types.TypeString(f.info.Types[e].Type, func(p *types.Package) string {
		if p == f.pkg {
			return ""
		}
		return p.Name()
	})
}

// rewrite gives a file with the switches of its mutants.
func rewrite(text []byte, mutants []mutant) []byte {
	opens, closes, gaps := map[int]string{}, map[int]string{}, map[int]edit{}
	var last *edit
	for _, m := range mutants {
		if last == &m.edits[0] { // the same site
			continue
		}
		last = &m.edits[0]
		for _, e := range m.edits {
			switch {
			case e.from != e.to:
				gaps[e.from] = e
			case e.closes:
				closes[e.from] = e.text + closes[e.from]
			default:
				opens[e.from] += e.text
			}
		}
	}
	var out bytes.Buffer
	for i := 0; i <= len(text); i++ {
		out.WriteString(closes[i])
		out.WriteString(opens[i])
		if g, ok := gaps[i]; ok {
			out.WriteString(g.text)
			i = g.to - 1
		} else if i < len(text) {
			out.WriteByte(text[i])
		}
	}
	return out.Bytes()
}

// switches is added to every package.
const switches = `package %s

import (
	"cmp"
	"os"
	"strconv"
)

var mutantNow = mutantNumber()

func mutantNumber() int { n, _ := strconv.Atoi(os.Getenv("MUTANT")); return n }

type mutantReal interface {
	~int | ~int8 | ~int16 | ~int32 | ~int64 | ~uint | ~uint8 | ~uint16 | ~uint32 | ~uint64 | ~uintptr | ~float32 | ~float64
}

func mutantOn(n int) bool { return mutantNow == n }

func mutantNot(n int, b bool) bool { return b != (mutantNow == n) }
func mutantCond(n int, b bool) bool { return mutantNow != n && (b || mutantNow == n+1) }

func mutantLess[T cmp.Ordered](n int, a, b T) bool { return a < b || mutantNow == n && a == b }
func mutantMore[T cmp.Ordered](n int, a, b T) bool { return a > b || mutantNow == n && a == b }
func mutantLessEqual[T cmp.Ordered](n int, a, b T) bool { return a <= b && (mutantNow != n || a != b) }
func mutantMoreEqual[T cmp.Ordered](n int, a, b T) bool { return a >= b && (mutantNow != n || a != b) }

func mutantAdd[T mutantReal](n int, a, b T) T {
	if mutantNow == n { return a - b }
	if mutantNow == n+1 { return a }
	return a + b
}
func mutantSub[T mutantReal](n int, a, b T) T {
	if mutantNow == n { return a + b }
	if mutantNow == n+1 { return a }
	return a - b
}
func mutantMul[T mutantReal](n int, a, b T) T {
	if mutantNow == n { return a / b }
	if mutantNow == n+1 { return a }
	return a * b
}
func mutantQuo[T mutantReal](n int, a, b T) T {
	if mutantNow == n { return a * b }
	if mutantNow == n+1 { return a }
	return a / b
}
func mutantMinus[T mutantReal](n int, a T) T { if mutantNow == n { return -a }; return a }
func mutantInverse[T ~float32 | ~float64](n int, a T) T { if mutantNow == n { return 1 / a }; return a }
func mutantWhole[T mutantReal](n int, a T) T { if mutantNow == n { return a + 1 }; return a }
func mutantFloat[T ~float32 | ~float64](n int, a T) T {
	if mutantNow != n { return a }
	if a == 0 { return 1 }
	return a * 1.01
}
func mutantFunc[F any](n int, other, usual F) F { if mutantNow == n { return other }; return usual }
func mutantMin[T cmp.Ordered](n int, a T, b ...T) T {
	for _, x := range b { if mutantNow == n { a = max(a, x) } else { a = min(a, x) } }
	return a
}
func mutantMax[T cmp.Ordered](n int, a T, b ...T) T {
	for _, x := range b { if mutantNow == n { a = min(a, x) } else { a = max(a, x) } }
	return a
}
`

// ---- building

// build compiles test binaries with all mutants of all packages in them.
type build struct {
	tmp     string
	pkgs    []*pkg
	short   bool
	bad     map[string]bool // "file:line" of switches that do not compile
	overlay string
}

// all is the list of the packages, for -coverpkg.
func (b *build) all() string {
	var names []string
	for _, p := range b.pkgs {
		names = append(names, p.ImportPath)
	}
	return strings.Join(names, ",")
}

// write writes the changed files and the overlay that names them.
func (b *build) write() error {
	replace := map[string]string{}
	add := func(path string, text []byte) error {
		to := filepath.Join(b.tmp, fmt.Sprintf("f%d.go", len(replace)))
		replace[path] = to
		return os.WriteFile(to, text, 0o666)
	}
	for _, p := range b.pkgs {
		p.mutants = slices.DeleteFunc(p.mutants, func(m mutant) bool { return b.bad[fmt.Sprintf("%s:%d", m.file, m.line)] })
		for _, name := range p.GoFiles {
			path := filepath.Join(p.Dir, name)
			ms := slices.DeleteFunc(slices.Clone(p.mutants), func(m mutant) bool {
				return filepath.Join(p.Module.Dir, filepath.FromSlash(m.file)) != path
			})
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			if err := add(path, append([]byte("//line "+path+":1\n"), rewrite(text, ms)...)); err != nil {
				return err
			}
		}
		if err := add(filepath.Join(p.Dir, "mutant_switches.go"), fmt.Appendf(nil, switches, p.Name)); err != nil {
			return err
		}
	}
	text, err := json.Marshal(map[string]any{"Replace": replace})
	b.overlay = filepath.Join(b.tmp, "overlay.json")
	return errors.Join(err, os.WriteFile(b.overlay, text, 0o666))
}

var compileError = regexp.MustCompile(`(?m)^(\S+\.go):(\d+):.*`)

// compile builds the tests of one package. A line whose switches do not compile loses
// its mutants, and is named.
func (b *build) compile(name, to string) error {
	for range 10 {
		if err := b.write(); err != nil {
			return err
		}
		_, err := goCommand("test", "-c", "-overlay", b.overlay, "-gcflags=-e", "-o", to, name)
		if err == nil {
			return nil
		}
		before := len(b.bad)
		for _, m := range compileError.FindAllStringSubmatch(err.Error(), -1) {
			path, _ := filepath.Abs(m[1])
			rel, _ := filepath.Rel(b.pkgs[0].Module.Dir, path)
			b.bad[filepath.ToSlash(rel)+":"+m[2]] = true
			fmt.Fprintln(os.Stderr, "left alone, does not compile with a switch:", m[0])
		}
		if len(b.bad) == before {
			return err
		}
	}
	return errors.New(name + ": does not compile with switches")
}

// suite is the compiled tests of one package and how each of them goes without a mutant.
type suite struct {
	name, bin, dir string
	flags          []string
	tests          []test // quickest first
}

type test struct {
	name string
	took time.Duration
	hits map[string][]block // by file, from the module's root
	seen map[string][]block // all blocks, reached or not
}

type block struct{ from, to place }

// suite builds the tests of package name that match, runs each once, and notes how long
// it takes and what it reaches of the packages in cover.
func (b *build) suite(name, cover, match string) (*suite, error) {
	out, err := goCommand("list", "-f", "{{.ImportPath}}\n{{.Dir}}", name)
	if err != nil {
		return nil, err
	}
	lines := strings.Fields(string(out))
	s := &suite{name: lines[0], dir: lines[1], bin: filepath.Join(b.tmp, strings.ReplaceAll(lines[0], "/", "_")+".test")}
	if _, err := goCommand("test", "-c", "-cover", "-coverpkg="+cover, "-o", s.bin+"cover", name); err != nil {
		return nil, err
	}
	if err := b.compile(name, s.bin); err != nil {
		return nil, err
	}
	s.flags = []string{"-test.failfast", "-test.short=" + strconv.FormatBool(b.short)}
	if s.command(b.tmp, "", "-test.list=^$", "-rapid.nofailfile").Run() == nil {
		s.flags = append(s.flags, "-rapid.nofailfile", "-rapid.shrinktime=1ms")
	}
	list, err := s.command(b.tmp, "", "-test.list", match).Output()
	if err != nil {
		return nil, err
	}
	for _, t := range strings.Fields(string(list)) {
		one := test{name: t}
		if err := s.measure(b, &one); err != nil {
			return nil, err
		}
		s.tests = append(s.tests, one)
	}
	slices.SortStableFunc(s.tests, func(a, b test) int { return int(a.took - b.took) })
	return s, nil
}

// command runs a test binary where its files are; what it leaves behind goes into tmp.
func (s *suite) command(tmp, kind string, args ...string) *exec.Cmd {
	cmd := exec.Command(s.bin+kind, args...)
	cmd.Dir, cmd.Env = s.dir, append(os.Environ(), "TMPDIR="+tmp)
	return cmd
}

// measure runs one test without a mutant, once for its time and once for what it reaches.
func (s *suite) measure(b *build, t *test) error {
	begun := time.Now()
	if got := s.runTests(0, []string{t.name}, time.Hour); got != survived {
		return fmt.Errorf("%s: %s does not pass without a mutant (%s)", s.name, t.name, got)
	}
	t.took = time.Since(begun)
	profile := filepath.Join(b.tmp, "profile")
	cmd := s.command(b.tmp, "cover", append(slices.Clone(s.flags), "-test.run=^"+t.name+"$", "-test.coverprofile="+profile)...)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%s: %s: %w\n%s", s.name, t.name, err, out)
	}
	text, err := os.Open(profile)
	if err != nil {
		return err
	}
	defer text.Close()
	t.hits, t.seen = map[string][]block{}, map[string][]block{}
	for in := bufio.NewScanner(text); in.Scan(); {
		file, rest, ok := strings.Cut(in.Text(), ":")
		var k block
		var n, hits int
		if _, err := fmt.Sscanf(rest, "%d.%d,%d.%d %d %d", &k.from.line, &k.from.col, &k.to.line, &k.to.col, &n, &hits); !ok || err != nil {
			continue
		}
		_, file, _ = strings.Cut(file, "/") // the module's name
		t.seen[file] = append(t.seen[file], k)
		if hits > 0 {
			t.hits[file] = append(t.hits[file], k)
		}
	}
	return nil
}

// ---- trying

type verdict string

const (
	killed     verdict = "killed"
	timedOut   verdict = "timed out"
	survived   verdict = "survived"
	notCovered verdict = "not covered"
)

// runTests runs tests with one mutant on. Memory is bounded: a mutant may fill it.
func (s *suite) runTests(number int, names []string, limit time.Duration) verdict {
	tmp, err := os.MkdirTemp(filepath.Dir(s.bin), "run")
	if err != nil {
		return survived
	}
	defer os.RemoveAll(tmp)
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	args := append([]string{"-c", `ulimit -v 8000000; exec "$@"`, "sh", s.bin, "-test.run=^(" + strings.Join(names, "|") + ")$"}, s.flags...)
	cmd := exec.CommandContext(ctx, "sh", args...)
	cmd.Dir = s.dir
	cmd.Env = append(os.Environ(), "TMPDIR="+tmp, "MUTANT="+strconv.Itoa(number))
	cmd.WaitDelay = time.Second
	switch err := cmd.Run(); {
	case ctx.Err() != nil:
		return timedOut
	case err != nil:
		return killed
	}
	return survived
}

// reaches tells whether the test runs the place, by the innermost block there is; a
// place outside all blocks (a table) counts as reached.
func (t test) reaches(m mutant) bool {
	inside := func(blocks []block) bool {
		return slices.ContainsFunc(blocks, func(k block) bool {
			return !m.at.before(k.from) && m.at.before(k.to)
		})
	}
	return inside(t.hits[m.file]) || !inside(t.seen[m.file])
}

func (p place) before(q place) bool { return p.line < q.line || p.line == q.line && p.col < q.col }

// try runs the tests that reach the mutant, in three helpings by their time.
func (s *suite) try(m mutant) verdict {
	out := notCovered
	var names []string
	var sum, total time.Duration
	flush := func() {
		if len(names) > 0 && (out == notCovered || out == survived) {
			out = s.runTests(m.number, names, 5*sum+5*time.Second)
		}
		names, sum = nil, 0
	}
	for _, t := range s.tests {
		if !t.reaches(m) {
			continue
		}
		if total <= 300*time.Millisecond && total+t.took > 300*time.Millisecond || total <= 2*time.Second && total+t.took > 2*time.Second {
			flush()
		}
		names, sum, total = append(names, t.name), sum+t.took, total+t.took
	}
	flush()
	return out
}

// choose takes the sample, in the order of the source.
func (p *pkg) choose(only *regexp.Regexp, o options) []mutant {
	all := slices.DeleteFunc(slices.Clone(p.mutants), func(m mutant) bool { return !only.MatchString(m.String()) })
	if o.count == 0 || o.count >= len(all) {
		return all
	}
	r := rand.New(rand.NewPCG(o.seed, 0))
	r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	all = all[:o.count]
	slices.SortFunc(all, func(a, b mutant) int { return a.number - b.number })
	return all
}

// result is a mutant's fate; by says that only tests of another package saw it.
type result struct {
	mutant
	verdict verdict
	by      string
}

func (p *pkg) try(ctx context.Context, mutants []mutant, own bool, second []*suite) []result {
	var out []result
	begun := time.Now()
	for i, m := range mutants {
		if ctx.Err() != nil {
			break
		}
		r := result{mutant: m, verdict: notCovered}
		if own {
			r.verdict = p.own.try(m)
		}
		for _, s := range second {
			if r.verdict == killed || r.verdict == timedOut {
				break
			}
			if v := s.try(m); v != notCovered {
				r.verdict, r.by = v, s.name
			}
		}
		out = append(out, r)
		fmt.Fprintf(os.Stderr, "%s %d of %d, %v: %s: %v\n", p.ImportPath, i+1, len(mutants), time.Since(begun).Round(time.Second), r.verdict, m)
	}
	return out
}

// report prints the figures and who got through.
func (p *pkg) report(results []result) {
	n := map[verdict]int{}
	late := 0
	for _, r := range results {
		n[r.verdict]++
		if r.by != "" && r.verdict != survived {
			late++
		}
	}
	fmt.Printf("%s: tried %d of %d mutants: killed %d (%d of them by other packages' tests), timed out %d, survived %d, not covered %d\n",
		p.ImportPath, len(results), len(p.mutants), n[killed], late, n[timedOut], n[survived], n[notCovered])
	for _, v := range []verdict{survived, notCovered} {
		for _, r := range results {
			if r.verdict == v {
				fmt.Printf("  %s: %v\n", v, r.mutant)
			}
		}
	}
}
