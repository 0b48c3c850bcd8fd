package work

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
	"spotjig/post"
)

// hall is a job of a hall with so many tables, each of a length.
func hall(t testing.TB, rest string, lengths ...float64) []*Order {
	t.Helper()
	var out []*Order
	for i, l := range lengths {
		text := fmt.Sprintf("name: Weir Hall, table %d\ndate: 2026-11-20\ntable: {size: 7 ft pool, length: %g mm, width: %g mm}\ngames: [pool]\n%s", i+1, l, l/2, rest)
		o, err := Read(fmt.Sprintf("table-%d.yaml", i+1), []byte(text), nil)
		require.NoError(t, err)
		out = append(out, o)
	}
	return out
}

// shop is where the quickest sets are made.
const shop = "machine: shop\nmaterial: {sold: 5 mm, thickness: 4.9 mm}\n"

// shareTwo is two jobs whose sheets a shop cuts.
func shareTwo(t testing.TB, opt Options) *Sharing {
	return share(t, hall(t, shop, 1981.2, 2040), opt)
}

// share is jobs that all share sheets.
func share(t testing.TB, orders []*Order, opt Options) *Sharing {
	t.Helper()
	groups, errs := Share(orders, opt)
	require.NoError(t, errors.Join(errs...))
	require.Len(t, groups, 1)
	return groups[0]
}

// Jobs of every process and with every kind of piece share sheets, and every proof holds:
// of the sheets with all pieces on them, and of each job with its own.
func TestSharedSheetsAreProved(t *testing.T) {
	blade := "jig: {letters: none, tolerance: 9 mm}\nmaterial: {kind: polyester film, thickness: 0.35 mm, sheets: [{width: 1200, height: 600}]}\nmachine: knife-1200x600\n"
	for _, c := range []struct {
		name, rest string
		lengths    []float64
		fewer      bool // sheets than by themselves
	}{
		{"laser, everything on it", "jig: {joint: keyed, spots: sticker, spare_fins: yes, letters: short}\nmachine: laser-600x400\n", []float64{1981.2, 1990, 2040}, true},
		{"nothing else lettered", "jig: {letters: none, ties: {count: 2}}\ncount: 2\nunits: in\nmachine: laser-600x400\n", []float64{1981.2, 2040}, false},
		{"shop, two steps, kerf taken", "dxf: compensated\nmachine: shop\nmaterial: {sold: 5 mm, kerf: 0.2 mm}\n", []float64{1981.2, 2040}, false},
		{"blade", blade, []float64{1981.2, 2040}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if testing.Short() && !strings.Contains(c.rest, "shop") {
				t.Skip("a whole job and more: left out with -short")
			}
			t.Parallel()
			orders := hall(t, c.rest, c.lengths...)
			opt := outputOptions
			opt.SVG = true
			m, err := share(t, orders, opt).Build(context.Background())
			require.NoError(t, err)
			for _, f := range m.Failures() {
				t.Errorf("%s: %s", f.ID, f.Text)
			}
			require.Len(t, m.Jobs, len(orders))
			recordsAreWhole(t, m)
			alone := 0
			for _, o := range orders {
				one, err := o.Build(context.Background(), ofTheCut(outputOptions)) // how many sheets, not what is said of them
				require.NoError(t, err)
				alone += len(one.Set.Sheets)
			}
			t.Logf("%d sheets; %d by themselves", len(m.Set.Sheets), alone)
			assert.LessOrEqual(t, len(m.Set.Sheets), alone)
			assert.True(t, !c.fewer || len(m.Set.Sheets) < alone)
		})
	}
}

// recordsAreWhole reads each job's record as a stranger's script would: every piece on a
// sheet that it lists, the others' pieces named, every file but other jobs' listed.
func recordsAreWhole(t *testing.T, m Made) {
	t.Helper()
	on := map[string]int{}
	for i, set := range m.Jobs {
		data, ok := m.file(set.FileName(RecordName))
		require.True(t, ok)
		var r struct {
			Parts []struct {
				ID      string
				Sheet   int
				OnSheet *struct{ X, Y float64 } `json:"on_sheet"`
			}
			Sheets []struct {
				N      int
				Others []string
			}
			Checks []struct{ ID, Verdict string }
			Files  []struct{ Name string }
		}
		require.NoError(t, json.Unmarshal(data, &r))
		sheets := map[int]bool{}
		for _, s := range r.Sheets {
			sheets[s.N] = true
			for _, id := range s.Others {
				assert.NotContains(t, id, set.Letter+"-")
			}
		}
		assert.Len(t, r.Parts, len(set.Jig.Parts))
		for _, p := range r.Parts {
			assert.True(t, strings.HasPrefix(p.ID, set.Letter+"-"), p.ID)
			assert.True(t, sheets[p.Sheet] && p.OnSheet != nil, p.ID)
			on[p.ID]++
		}
		checks := map[string]bool{}
		for _, c := range r.Checks {
			id, _, _ := strings.Cut(c.ID, ":")
			checks[id] = true
		}
		for _, id := range []string{"as-shared", "as-assembled", "dxf", "lettering", "marks-csv", "as-listed"} {
			assert.True(t, checks[id], "%s is not in the record of %s", id, set.Letter)
		}
		for _, f := range m.Files {
			listed := slices.ContainsFunc(r.Files, func(l struct{ Name string }) bool { return l.Name == f.Name })
			own := (f.of == 0 || f.of == i+1) && !strings.HasSuffix(f.Name, RecordName) && f.Name != SumsName
			assert.Equal(t, own, listed, f.Name)
		}
	}
	placed := 0
	for _, s := range m.Set.Sheets {
		placed += len(s.Placed)
	}
	assert.Len(t, on, placed)
}

// Sheets are shared by jobs for the same machine and sheet alone.
func TestWhoSharesSheets(t *testing.T) {
	var orders []*Order
	for _, rest := range []string{shop, "machine: laser-600x400\n", shop + "dxf: nominal\n", shop + "count: 2\n", strings.Replace(shop, "4.9", "4.8", 1), shop + "units: in\n",
		shop + "colours: {score: '#123456'}\n", "machine: laser-600x400\nmaterial: {kerf: 0.1 mm}\n", shop + "notes: for the winter\n", "machine: {like: nothing}\n"} {
		orders = append(orders, hall(t, rest, 1981.2)...)
	}
	groups, errs := Share(orders, outputOptions)
	var got [][]int
	for _, g := range groups {
		var of []int
		for i, m := range g.Jobs {
			of = append(of, m.Index)
			assert.Equal(t, string("ABC"[i]), m.Letter)
		}
		got = append(got, of)
	}
	assert.Equal(t, [][]int{{0, 2, 8}, {1}, {3}, {4}, {5}, {6}, {7}}, got)
	for i, err := range errs {
		assert.Equal(t, i == 9, err != nil, "%d: %v", i, err)
	}
	assert.Equal(t, []string{"A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"}, []string{letterOf(0), letterOf(25), letterOf(26), letterOf(51), letterOf(52), letterOf(701), letterOf(702)})
}

// A job that cannot be made is left out, with why; the others keep their letters. One that
// is left alone comes to the bytes that it comes to by itself.
func TestSharingLeavesOutWhatFails(t *testing.T) {
	long(t)
	good := hall(t, shop, 1981.2, 2040)
	bad := hall(t, "jig: {tolerance: 0.1 mm}\n"+shop, 1990)
	three := share(t, []*Order{good[0], bad[0], good[1]}, outputOptions)
	m, err := three.Build(context.Background())
	require.NoError(t, err)
	require.Empty(t, m.Failures())
	require.Len(t, m.Jobs, 2)
	assert.Equal(t, []string{"A", "C"}, []string{m.Jobs[0].Letter, m.Jobs[1].Letter})
	assert.ErrorContains(t, three.Jobs[1].Err, "J099")
	assert.NoError(t, three.Jobs[0].Err)
	assert.Equal(t, three.Jobs[1].Err, three.Err())

	// The folder's own files make it again, letters with a gap and all.
	again := again(t, m)
	require.Len(t, again.Files, len(m.Files))
	for i, f := range m.Files {
		assert.Equal(t, string(f.Data), string(again.Files[i].Data), f.Name)
	}

	// Why a job cannot be made does not matter: here nothing looks for a plan of the bad one.
	opt, st := outputOptions, usual()
	st.design = func(r jig.Request) (jig.Jig, error) {
		if r.Want.Tolerance == 0.1 {
			return jig.Jig{}, errors.New("planted")
		}
		return design(r)
	}
	opt.stages = &st
	two := share(t, []*Order{bad[0], hall(t, shop, 1981.2)[0]}, opt)
	m, err = two.Build(context.Background())
	require.NoError(t, err)
	alone, err := hall(t, shop, 1981.2)[0].Build(context.Background(), outputOptions)
	require.NoError(t, err)
	assert.Equal(t, alone.Files, m.Files)

	none := share(t, hall(t, "jig: {tolerance: 0.1 mm}\n"+shop, 1990, 1991), opt)
	m, err = none.Build(context.Background())
	require.NoError(t, err)
	assert.Empty(t, m.Files)
	assert.Error(t, none.Jobs[0].Err)
	assert.Error(t, none.Jobs[1].Err)
}

// Jobs whose usual plans run out of the largest sheets, each by itself or all together, are
// made by others.
func TestSharingFindsOtherPlans(t *testing.T) {
	long(t)
	stock := func(counted int) string {
		return fmt.Sprintf("machine: shop\nmaterial: {thickness: 4.9, ordered: plates, sheets: [{width: 700, height: 500, count: %d}, {width: 500, height: 300}]}\n", counted)
	}
	other := func(set post.Set) bool {
		return slices.ContainsFunc(set.Checks, func(c jig.Check) bool { return c.ID == "plan" })
	}
	alone := func(counted int) post.Set {
		m, err := hall(t, stock(counted), 2040)[0].Build(context.Background(), ofTheCut(outputOptions))
		require.NoError(t, err)
		require.Empty(t, m.Failures())
		return m.Set
	}
	enough := 1
	for other(alone(enough)) {
		enough++
		require.Less(t, enough, 5)
	}
	require.Greater(t, enough, 1)
	for counted, lengths := range map[int][]float64{enough - 1: {1981.2, 2040}, enough: {1981.2, 2040, 2090, 2140}} {
		m, err := share(t, hall(t, stock(counted), lengths...), outputOptions).Build(context.Background())
		require.NoError(t, err, counted)
		assert.Empty(t, m.Failures())
		require.Len(t, m.Jobs, len(lengths))
		for _, set := range m.Jobs {
			assert.True(t, other(set), "%s of %d", set.Letter, counted)
		}
	}
}

// again makes a folder from the files that it holds.
func again(t *testing.T, m Made) Made {
	t.Helper()
	list, _ := m.file(ListName)
	s, c, err := ReadSharing(ListName, list, func(name string) ([]byte, error) {
		data, ok := m.file(name)
		if !ok {
			return nil, errors.New(name + " is not there")
		}
		return data, nil
	})
	require.NoError(t, err)
	assert.Equal(t, outputOptions.Version, c.Version)
	out, err := s.Build(context.Background())
	require.NoError(t, err)
	require.Empty(t, out.Failures())
	return out
}

// A list that somebody wrote is refused by name where it leads nowhere.
func TestListOfJobsRefused(t *testing.T) {
	m, err := shareTwo(t, outputOptions).Build(context.Background())
	require.NoError(t, err)
	list, _ := m.file(ListName)
	open := func(name string) ([]byte, error) {
		data, ok := m.file(name)
		if !ok {
			return nil, errors.New(name + " is not there")
		}
		if name == "b-job.yaml" {
			data = []byte(strings.Replace(string(data), "kerf: 0.18", "kerf: 0.19", 1))
		}
		return data, nil
	}
	for _, c := range []struct{ old, put, want string }{
		{"version: 0.1.0", "version: ", "F031"},
		{"letter: B, file: b-job", "letter: B, file: ../b-job", "J008"},
		{"letter: B, file: b-job", "letter: b, file: b-job", "J008"},
		{"letter: B, file: b-job", "letter: C, file: c-job", "c-job.yaml is not there"},
		{"letter: B", "latter: B", "J001"},
		{"jobs:", "job:", "J001"},
		{"version", "version", "shares no sheet"},
	} {
		text := string(list)
		require.Contains(t, text, c.old)
		_, _, err := ReadSharing(ListName, []byte(strings.Replace(text, c.old, c.put, 1)), open)
		assert.ErrorContains(t, err, c.want)
	}
}

// Of twelve tables of four sizes four jigs serve all, each told with the tables it serves.
func TestFewestJigs(t *testing.T) {
	var jobs []Brief
	for i := range 12 {
		l := []float64{1981.2, 2235.2, 2540, 2620}[i%4] + []float64{0.8, 0, 0.4}[i/4]
		jobs = append(jobs, drawnUp(t, hall(t, shop, l)[0]).Briefs()...)
	}
	assert.Equal(t, []Cover{{0, []int{4, 8}}, {1, []int{5, 9}}, {2, []int{6, 10}}, {3, []int{7, 11}}}, FewestJigs(jobs))

	// A jig out of reach, other games and a jig for one table serve nothing but their own.
	jobs = jobs[:1]
	for _, text := range []string{"length: 1996 mm, width: 990.6 mm}\ngames: [pool]\n", "length: 1982 mm, width: 990.6 mm}\ngames: [snooker]\n", "length: 1982 mm, width: 990.6 mm}\ngames: [pool]\njig: {for: this}\n",
		"length: 1982 mm, width: 1050 mm}\ngames: [pool]\n"} {
		o, err := Read("other.yaml", []byte("name: Other\ntable: {size: 7 ft pool, "+text+shop), nil)
		require.NoError(t, err)
		m := drawnUp(t, o)
		require.Empty(t, m.Failures())
		jobs = append(jobs, m.Briefs()...)
	}
	assert.Equal(t, []Cover{{Jig: 0}, {Jig: 1}, {Jig: 2}, {Jig: 3}, {Jig: 4}}, FewestJigs(jobs))
	assert.Empty(t, FewestJigs(nil))
}

// sharedFaults are planted in jobs that share sheets.
func sharedFaults() []planted {
	const by = "as-shared"
	ofB := func(f func(j *jig.Jig)) steps {
		return steps{design: func(j *jig.Jig) {
			if strings.HasPrefix(j.Parts[0].ID, "B-") {
				f(j)
			}
		}}
	}
	lettered := func(text string) steps {
		return ofB(func(j *jig.Jig) {
			j.Parts[0].Letters = jig.Lettering(text, geom.Point{X: 30, Y: 30}, 5)
		})
	}
	others := func(f func(*jig.Part)) steps {
		return steps{shown: func(s *post.Set) {
			if s.Letter == "" {
				return // the order, which is of all
			}
			s.Others = slices.Clone(s.Others)
			f(&s.Others[0])
		}}
	}
	return []planted{
		{"shared", "a piece with another job's letters", "shared", lettered("A-H1"), by, ""},
		{"shared", "a piece without its job's letter", "shared", lettered("H1"), by, ""},
		{"shared", "a piece lettered as a longer name", "shared", lettered("B-H12"), by, ""},
		{"shared", "a piece that names itself as a neighbour alone", "shared", lettered("TO B-H1"), by, ""},
		{"shared", "a piece without letters", "shared", ofB(func(j *jig.Jig) { j.Parts[0].Letters = nil }), by, ""},
		{"shared", "a piece under a name of no job", "shared", ofB(func(j *jig.Jig) { j.Parts[len(j.Parts)-1].ID = "X-1" }), by, ""},
		{"shared", "a piece of one job left out", "shared", steps{pieces: func(s *post.Set) { s.Jig.Parts = s.Jig.Parts[:len(s.Jig.Parts)-1] }}, by, ""},
		{"shared", "a piece of one job cut twice", "shared", steps{pieces: func(s *post.Set) {
			p := s.Jig.Parts[0]
			p.ID = "A-H99"
			s.Jig.Parts = append(s.Jig.Parts, p)
		}}, by, ""},
		{"shared", "two jobs' pieces exchanged", "shared", steps{pieces: func(s *post.Set) {
			k := slices.IndexFunc(s.Jig.Parts, func(p jig.Part) bool { return p.ID == "B-H1" })
			a, b := &s.Jig.Parts[0], &s.Jig.Parts[k]
			a.ID, b.ID = b.ID, a.ID
		}}, by, ""},
		{"shared", "a piece not on its job's sheet", "shared", steps{set: func(s *post.Set) {
			placed := slices.Clone(s.Sheets[0].Placed)
			s.Sheets[0].Placed = placed[:len(placed)-1]
		}}, by, ""},
		{"jobs.yaml", "a job not named", "shared", replaceFirst(ListName, `  - \{letter: B.*\n`, ""), "jobs", ""},
		{"jobs.yaml", "another name", "shared", replaceFirst(ListName, `table 2`, "table 3"), "jobs", ""},
		{"jobs.yaml", "another letter", "shared", replaceFirst(ListName, `letter: B, file: b-`, "letter: C, file: c-"), "jobs", ""},
		{"jobs.yaml", "another paper", "shared", replaceFirst(ListName, `paper: a4`, "paper: letter"), "jobs", ""},
		{"jobs.yaml", "the other job under this one's letter", "shared", swapFiles("a-job.yaml", "b-job.yaml"), "job", ""},
		{"record", "nothing said of the other jobs' pieces", "shared", steps{recorded: func(s *post.Set) { s.Others = nil }}, "record", ""},
		{"record", "the other job's", "shared", swapFiles("a-record.json", "b-record.json"), "record", ""},
		{"page", "another job's piece drawn larger", "shared", others(func(p *jig.Part) { p.Scale = 1.01 }), "as-shown", ""},
		{"page", "another job's piece under another name", "shared", others(func(p *jig.Part) { p.ID = "Z-1" }), "as-shown", ""},
		{"job sheet", "not a word of shared sheets", "shared", steps{shown: func(s *post.Set) { s.Letter = "" }}, "as-listed", ""},
		{"job sheet", "the other job's letter", "shared", steps{shown: func(s *post.Set) {
			if s.Letter != "" {
				s.Letter = "B"
			}
		}}, "as-listed", ""},
	}
}
