package manual

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/goccy/go-yaml/ast"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// schemaOf compiles a schema with a validator of its own; compiling holds it to the
// definition of JSON Schema, draft 7.
func schemaOf(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, WriteSchema(&b, name))
	doc, err := jsonschema.UnmarshalJSON(&b)
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource(name+".json", doc))
	s, err := c.Compile(name + ".json")
	require.NoError(t, err)
	return s
}

// instance is a file's text as an editor sees it: the values of YAML 1.2's core schema.
func instance(t testing.TB, text string) any {
	t.Helper()
	sec, err := job.Parse("", []byte(text))
	require.NoError(t, err, text)
	return valueOf(t, sec.Node)
}

func valueOf(t testing.TB, n ast.Node) any {
	t.Helper()
	pairs := func(list []*ast.MappingValueNode) any {
		out := map[string]any{}
		for _, p := range list {
			out[p.Key.GetToken().Value] = valueOf(t, p.Value)
		}
		return out
	}
	switch n := n.(type) {
	case nil, *ast.NullNode:
		return nil
	case *ast.MappingNode:
		return pairs(n.Values)
	case *ast.MappingValueNode:
		return pairs([]*ast.MappingValueNode{n})
	case *ast.SequenceNode:
		out := []any{}
		for _, v := range n.Values {
			out = append(out, valueOf(t, v))
		}
		return out
	case *ast.StringNode:
		return n.Value
	case *ast.LiteralNode:
		return n.Value.Value
	case *ast.BoolNode:
		return n.Value
	case *ast.IntegerNode, *ast.FloatNode:
		return coreNumber(n.GetToken().Value)
	case *ast.NanNode, *ast.InfinityNode:
		return n.GetToken().Value // no number of JSON's
	}
	t.Fatalf("no value of JSON for %T", n)
	return nil
}

// coreNumber is what an editor makes of a number's text: YAML 1.2.2, section 10.3.2 (core
// schema). 025 is 25, not octal as in YAML 1.1, and +-1 or 1_000 is a text.
func coreNumber(text string) any {
	if core.MatchString(text) {
		if v, err := strconv.ParseFloat(text, 64); err == nil {
			return v
		}
	}
	for prefix, base := range map[string]int{"0o": 8, "0x": 16} {
		if digits, is := strings.CutPrefix(text, prefix); is {
			if v, err := strconv.ParseUint(digits, base, 64); err == nil {
				return float64(v)
			}
		}
	}
	return text
}

var core = regexp.MustCompile(`^[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?$`)

// places are where a schema refuses an instance: the key, with the items' numbers.
func places(err error) []string {
	if err == nil {
		return nil
	}
	var out []string
	var walk func(e *jsonschema.ValidationError)
	walk = func(e *jsonschema.ValidationError) {
		if len(e.Causes) == 0 {
			out = append(out, strings.Join(e.InstanceLocation, "/"))
		}
		for _, c := range e.Causes {
			walk(c)
		}
	}
	walk(err.(*jsonschema.ValidationError))
	return out
}

// readers are what is wrong with a file of each kind.
func readers() map[string]func(text string) error {
	games := gameNames()
	return map[string]func(string) error{
		"job": func(text string) error {
			_, _, err := job.Read("f.yaml", []byte(text), job.Options{Games: games})
			list := problem.From(err)
			if sec, err := job.Parse("f.yaml", []byte(text)); err == nil {
				top := job.Open(sec, new(problem.List))
				open := func(string) ([]byte, error) { return []byte("travel: {x: 600, y: 400}"), nil }
				_, _, _, err = machine.Read(top.Section("machine"), top.Section("material"), machine.Options{Open: open})
				list = append(list, problem.From(err)...)
			}
			return list.Err()
		},
		"machine": func(text string) error { _, err := machine.ParseProfile("f.yaml", []byte(text)); return err },
		"material": func(text string) error {
			p, _ := machine.Lookup("laser-600x400")
			_, err := machine.ParseMaterial("f.yaml", []byte(text), p)
			return err
		},
	}
}

// What a reader takes, the schema takes: on every file of testdata that is in order.
func TestSchemasTakeWhatIsTaken(t *testing.T) {
	n := 0
	for _, f := range []struct{ pattern, name string }{
		{"../../testdata/jobs/*.yaml", "job"}, {"../../testdata/full*.yaml", "job"}, {"../../layout/job/demo.yaml", "job"},
		{"../../testdata/machines/*laser*.yaml", "machine"}, {"../../testdata/machines/*knife*.yaml", "machine"},
		{"../../testdata/machines/*corner*.yaml", "machine"}, {"../../testdata/machines/acrylic*.yaml", "material"},
	} {
		files, err := filepath.Glob(f.pattern)
		require.NoError(t, err)
		require.NotEmpty(t, files, f.pattern)
		s := schemaOf(t, f.name)
		for _, file := range files {
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.NoError(t, s.Validate(instance(t, string(data))), file)
			n++
		}
	}
	require.Greater(t, n, 25)
}

// seen are the codes of faults that a schema can see, each at its key. The others are the
// reader's alone: what else is needed, lengths that do not go together, a length in words
// past a limit, a day that no calendar has, what one machine can and another cannot.
var seen = []string{
	"J001", "J002", "J004", "J005", "J006", "J007", "J008", "J010", "J011", "J012",
	"L001", "L002", "L003", "L004", "L005", "M001",
}

// The files that the readers refuse: where a fault is one that a schema can see, it does,
// at that very key.
func TestSchemasSeeWhatTheyCan(t *testing.T) {
	files, err := filepath.Glob("../../testdata/jobs/bad/*.yaml")
	require.NoError(t, err)
	s, read := schemaOf(t, "job"), readers()["job"]
	n := 0
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		list := problem.From(read(string(data)))
		if len(list) == 0 || strings.HasPrefix(list[0].Code, "F") {
			continue // no YAML, or what only the design refuses
		}
		at := places(s.Validate(instance(t, string(data))))
		for _, p := range list {
			if !slices.Contains(seen, p.Code) || p.File != "f.yaml" || strings.Contains(p.Msg, "U+202E") || strings.Contains(p.Msg, "0x") {
				// U+202E turns text round: a pattern with it would turn the schema round. 0x32 is
				// a number before a schema sees it.
				continue
			}
			where := strings.NewReplacer("[", "/", "]", "", ".", "/").Replace(p.Field)
			if p.Code == "J012" && p.Line == 0 {
				where = "" // games are missing
			}
			if p.Code == "J001" {
				where = where[:max(0, strings.LastIndex(where, "/"))] // the section that has a key too many
			}
			assert.Contains(t, at, where, "%s: %s", filepath.Base(file), p.Error())
			n++
		}
	}
	require.Greater(t, n, 40)
}

// verdicts are what schema and reader say of a value at a key.
func verdicts(t testing.TB, s *jsonschema.Schema, read func(string) error, path, value string) (schema bool, faults problem.List) {
	t.Helper()
	text := alone(path, value)
	where := strings.NewReplacer(",", ".", "()", "/0").Replace(segments(path))
	for _, at := range places(s.Validate(instance(t, text))) {
		schema = schema || at == where || strings.HasPrefix(at, where+"/")
	}
	field := strings.ReplaceAll(path, "[]", "[0]")
	for _, p := range problem.From(read(text)) {
		if p.Field == field || strings.HasPrefix(p.Field, field+"[") || strings.HasPrefix(p.Field, field+".") {
			faults = append(faults, p)
		}
	}
	return !schema, faults
}

// sees tells whether a schema can see a fault of a value: limits hold a bare number, not
// one in quotes or with a unit.
func sees(p problem.Problem, value string) bool {
	if p.Code == "J006" || p.Code == "J007" {
		_, err := strconv.ParseFloat(value, 64)
		return err == nil
	}
	_, number := coreNumber(value).(float64)
	return slices.Contains(seen, p.Code) && !(p.Code == "L004" && number) // 1e3 is a number like any other there
}

// hold compares them both ways.
func hold(t testing.TB, s *jsonschema.Schema, read func(string) error, path, value string) {
	t.Helper()
	takes, faults := verdicts(t, s, read, path, value)
	if !takes && len(faults) == 0 {
		t.Errorf("%s: %s: the reader takes it, the schema does not", path, value)
	}
	if !takes {
		return
	}
	for _, p := range faults {
		if sees(p, value) {
			t.Errorf("%s: %s: the schema takes it, the reader says %s", path, value, p.Error())
		}
	}
}

// Reader and schema agree on every key of every file, with values of every form, at its
// limits and past them: an eighth of the keys, all with SPOTJIG_ALL=1.
func TestSchemasAgreeOnEveryKey(t *testing.T) {
	values := []string{"", "~", "yes", "No", "true", "maybe", "0", "1", "-1", "2.5", "12", "100", "1500", "30000", `"12"`, `"12 mm"`, `'8'' 4"'`, "46 1/2 in", "46-1/2 inches",
		"1 2 mm", "12 kg", "20 mm/s", "1200 mm / min", "20", "80 %", "20 °C", "[1, 2]", "[0, 600]", "[]", "[1, 2, 3]", "[~]", "{}", "{x: 1}", "G21 G90", "[G21, G90]",
		"2026-11-20", "2026-2-3", "laser", "KNIFE", " scaled ", "none", "some text", `"a\nb"`, `"a\u0007b"`, strings.Repeat("long ", 50), "laser-600x400", "Laser 600 x 400", "other.yaml",
		"025", "+-1", "1_000", "[pool, snooker]", "pool", "[pool, 7]", "[{}]", "W/6 + 10 mm"}
	n, few := 0, os.Getenv("SPOTJIG_ALL") == ""
	for _, name := range SchemaNames() {
		tried := map[string]bool{}
		s, read := schemaOf(t, name), readers()[name]
		for i, k := range readKeys() {
			if few && i%8 != 0 {
				continue
			}
			path := k.Path
			if name != "job" {
				var ok bool
				if path, ok = strings.CutPrefix(path, name+"."); !ok {
					continue
				}
				if strings.HasPrefix(path, "knife.") {
					continue // stands under machine, with its process
				}
			}
			if path == "assumed" {
				continue // names of the file's other keys, written by spotjig
			}
			// Every form with every value, every key with its own.
			var try []string
			form := fmt.Sprint(k.Form, k.Units, k.Most, len(k.Values))
			if !tried[form] || k.Form == "keys" || k.Form == "list" {
				try, tried[form] = slices.Clone(values), true
			}
			if r := said(k); r != "" {
				try = append(try, r)
			}
			if k.Within != nil {
				try = append(try, fmt.Sprintf("%.6f", k.Within.Min), fmt.Sprintf("%.6f", k.Within.Max),
					fmt.Sprintf("%.6f", k.Within.Min-0.001), fmt.Sprintf("%.6f", k.Within.Max+0.001))
			}
			for _, v := range k.Values {
				try = append(try, v, strings.ToUpper(v))
			}
			for _, v := range try {
				hold(t, s, read, path, v)
				n++
			}
		}
	}
	require.True(t, n > 2000 || few && n > 250, n)
}

// said is a key's example.
func said(k job.Key) string { return keyRows().of(k.Path).example }

// Texts put together from what people write: numbers, units, signs, fractions, words.
func TestSchemasAgreeOnAnyText(t *testing.T) {
	piece := rapid.SampledFrom([]string{"1", "2", "7", "0", "25", "150", "2540", ".", "-", "+", "/", " ", "  ", "mm", "cm", "m", "in", "inch", "ft", "feet", "'", `"`, "½", "1/2", "3/16",
		"mm/s", "mm/min", "in/s", "%", "°", "deg", "°C", "ppm", "s", "yes", "no", "laser", "knife", "scaled", "M4", "G54", "INCH", "Mm", "″", "’", "e3", ","})
	var keys []job.Key
	for _, k := range readKeys() {
		if k.Form != "keys" && k.Form != "list" && !strings.HasPrefix(k.Path, "made") && k.Path != "assumed" {
			keys = append(keys, k)
		}
	}
	s, read := schemaOf(t, "job"), readers()["job"]
	rapid.Check(t, func(rt *rapid.T) {
		k := rapid.SampledFrom(keys).Draw(rt, "key")
		v := job.Quote(strings.Join(rapid.SliceOfN(piece, 1, 6).Draw(rt, "text"), ""))
		takes, faults := verdicts(t, s, read, k.Path, v)
		if !takes && len(faults) == 0 {
			rt.Fatalf("%s: %s: the reader takes it, the schema does not", k.Path, v)
		}
		for _, p := range faults {
			if takes && sees(p, v) {
				rt.Fatalf("%s: %s: the schema takes it, the reader says %s", k.Path, v, p.Error())
			}
		}
	})
}

// The test can tell: a schema that knows one key less, or takes any text, is found out.
func TestSchemaNamesEveryGameAndKey(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteSchema(&b, "job"))
	for _, g := range layout.Games() {
		assert.Contains(t, b.String(), fmt.Sprintf("%q", g.ID))
	}
	for _, k := range readKeys() {
		names := keyNames(k.Path)
		assert.Contains(t, b.String(), fmt.Sprintf("%q: {", names[len(names)-1]))
	}
	var again bytes.Buffer
	require.NoError(t, WriteSchema(&again, "job"))
	assert.Equal(t, b.String(), again.String())
	s := schemaOf(t, "job")
	assert.Error(t, s.Validate(instance(t, "games: pool\nkerff: 1\n")))
	assert.Error(t, s.Validate(instance(t, "table: {length: 2540}\n")), "no games")
	assert.NoError(t, s.Validate(instance(t, "games: pool\n")))
}
