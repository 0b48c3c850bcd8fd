package work

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/problem"
	"spotjig/post"
)

// shopJob makes the shop job of testdata with words of its material changed.
func shopJob(t *testing.T, material string) Made {
	t.Helper()
	text, err := os.ReadFile("../../testdata/jobs/shop-9ft.yaml")
	require.NoError(t, err)
	const sold = "sold: 5 mm"
	require.Contains(t, string(text), sold)
	name := filepath.Join(t.TempDir(), "shop.yaml")
	require.NoError(t, os.WriteFile(name, []byte(strings.Replace(string(text), sold, material, 1)), 0o600))
	l, err := loadJob(name)
	require.NoError(t, err)
	b, err := build(context.Background(), l, steps{})
	require.NoError(t, err)
	require.Empty(t, b.Failures())
	return b
}

// TestShopOrdersInTwoSteps: without a measured thickness no drawing with a fin or a fin
// slot is written. What is drawn then is drawn the same once the thickness is known,
// whatever it turns out to be: it is not cut twice and fits what comes after.
func TestShopOrdersInTwoSteps(t *testing.T) {
	long(t)
	first := shopJob(t, "sold: 5 mm")
	inStep1 := map[string]jig.Part{}
	for i, s := range first.Set.Sheets {
		_, drawn := first.file(fmt.Sprintf("sheet-%d.dxf", s.N))
		assert.Equal(t, !first.Set.Held(i), drawn, "sheet %d", s.N)
		for _, on := range s.Placed {
			p, ok := first.Set.Part(on.ID)
			require.True(t, ok)
			assert.Equal(t, p.FitsThickness(), first.Set.Held(i), p.ID)
			if !first.Set.Held(i) {
				inStep1[p.ID] = p
			}
		}
	}
	require.NotEmpty(t, inStep1)
	require.Less(t, len(inStep1), len(first.Set.Jig.Parts))
	// ISO 7823-1 allows a cast sheet sold as 5 mm to be 4.1 to 5.9 mm thick (0.4 mm and a
	// tenth of the thickness either way, as restated by makers).
	for _, thick := range []string{"4.1", "4.85", "5.3", "5.9"} {
		second := shopJob(t, "sold: 5 mm, ordered: plates, thickness: "+thick+" mm")
		require.Len(t, second.Set.Sheets, len(first.Set.Sheets))
		for i, s := range second.Set.Sheets {
			assert.False(t, second.Set.Held(i))
			assert.Equal(t, !first.Set.Held(i), second.Set.Ordered(i))
			name := fmt.Sprintf("sheet-%d.dxf", s.N)
			_, drawn := second.file(name)
			assert.True(t, drawn)
			if _, before := first.file(name); before {
				picture := fmt.Sprintf("sheet-%d-cut.svg", s.N)
				was, _ := first.file(picture)
				again, _ := second.file(picture)
				assert.NotEmpty(t, was)
				assert.Equal(t, string(was), string(again), "%s at %s mm", picture, thick)
				then, err := first.Set.Drawing(i)
				require.NoError(t, err)
				now, err := second.Set.Drawing(i)
				require.NoError(t, err)
				assert.Equal(t, then, now, "%s at %s mm: all but the note beside the sheet", name, thick)
			}
		}
		for id, p := range inStep1 {
			q, ok := second.Set.Part(id)
			require.True(t, ok, id)
			assert.Equal(t, p.Outline, q.Outline, "%s at %s mm", id, thick)
			assert.Equal(t, p.Openings, q.Openings, "%s at %s mm", id, thick)
			assert.Equal(t, placeOf(first.Set, id), placeOf(second.Set, id))
		}
	}
}

// TestMeasuredShopOrdersAtOnce: of a sheet that is measured before anything is ordered,
// plates and fins are one order and lie together, on as few sheets as a laser of that bed
// takes; what is said of steps, on screen, page and papers, follows.
func TestMeasuredShopOrdersAtOnce(t *testing.T) {
	long(t)
	for _, size := range []string{"88 in, width: 44 in", "92 in, width: 46 in", "100 in, width: 50 in"} {
		job := "name: Quarry Road\ntable: {length: " + size + ", measured: nose-to-nose}\ngames: [pool]\n" +
			"material: {kind: cast acrylic, sold: 5 mm, %s sheets: [{width: 1200, height: 800}, {width: 1300, height: 900}]}\nmachine: shop\n"
		for material, want := range map[string]int{"thickness: 4.9,": 1, "": 2, "thickness: 4.9, ordered: plates,": 2} {
			set := laidOut(t, fmt.Sprintf(job, material))
			assert.Len(t, set.Sheets, want, "%s, %s", size, material)
		}
	}
	once, steps := shopJob(t, "sold: 5 mm, thickness: 4.85 mm"), shopJob(t, "sold: 5 mm, ordered: plates, thickness: 4.85 mm")
	for i := range once.Set.Sheets {
		assert.False(t, once.Set.Held(i) || once.Set.Ordered(i))
	}
	assert.True(t, strings.HasPrefix(once.Set.Outlook().Verdict, "Ready to order"))
	assert.NotContains(t, once.Set.Outlook().Verdict, "step")
	assert.Contains(t, strings.Join(once.Set.Cautions, " "), "write ordered: plates")
	assert.True(t, strings.HasPrefix(steps.Set.Outlook().Verdict, "Ready to order the second step, 1 sheet of 2"), steps.Set.Outlook().Verdict)
	assert.Contains(t, strings.Join(steps.Set.Cautions, " "), "ordered already")
}

// TestOrderOfTheSecondStep: what the first step ordered is neither listed nor sent again,
// and make's own proof finds an order that says otherwise.
func TestOrderOfTheSecondStep(t *testing.T) {
	long(t)
	text, err := os.ReadFile("../../testdata/jobs/shop-9ft.yaml")
	require.NoError(t, err)
	o, err := Read("shop.yaml", bytes.Replace(text, []byte("sold: 5 mm"), []byte("sold: 5 mm, ordered: plates, thickness: 4.85 mm"), 1), nil)
	require.NoError(t, err)
	once := func(set *post.Set) { set.Material.Ordered = machine.OrderedNothing }
	for name, hook := range map[string]steps{"sound": {}, "as if nothing was ordered": {shown: once}} {
		made, err := build(context.Background(), o, hook)
		require.NoError(t, err)
		found := map[string]string{}
		for _, c := range made.Failures() {
			found[c.ID] = c.Text
		}
		if name == "sound" {
			assert.Empty(t, found)
			continue
		}
		assert.Contains(t, found["as-asked"], "sheet-1")
		assert.Contains(t, found, "as-listed")
	}
}

// TestNoPlatesToOrderFirst: plates are not on order where each has slots for fins.
func TestNoPlatesToOrderFirst(t *testing.T) {
	job := "table: {length: 78 in, width: 39 in}\ngames: [snooker]\nmachine: shop\nmaterial: {kind: cast acrylic, thickness: 4.9, ordered: plates}\n"
	o, err := Read("job.yaml", []byte(job), nil)
	require.NoError(t, err)
	_, err = build(context.Background(), o, steps{base: func(j *jig.Jig) {
		j.Parts = slices.DeleteFunc(j.Parts, func(p jig.Part) bool { return !p.FitsThickness() })
	}})
	list := problem.From(err)
	require.Len(t, list, 1)
	assert.Equal(t, "J095 material.ordered", list[0].Code+" "+list[0].Field)
}

// placeOf is where a part lies, for comparing.
func placeOf(set post.Set, id string) string {
	for _, s := range set.Sheets {
		for _, on := range s.Placed {
			if on.ID == id {
				return fmt.Sprint(s.N, on.On)
			}
		}
	}
	return ""
}

// TestHeldDrawingIsRefused: a drawing that should wait is found by make's own proof.
func TestHeldDrawingIsRefused(t *testing.T) {
	text, err := os.ReadFile("../../testdata/jobs/shop-9ft.yaml")
	require.NoError(t, err)
	name := filepath.Join(t.TempDir(), "shop.yaml")
	require.NoError(t, os.WriteFile(name, text, 0o600))
	l, err := loadJob(name)
	require.NoError(t, err)
	sound, err := build(context.Background(), l, steps{})
	require.NoError(t, err)
	held := slices.IndexFunc(sound.Set.Sheets, func(s post.Sheet) bool { return sound.Set.Held(s.N - 1) })
	require.GreaterOrEqual(t, held, 0)
	opt, st := outputOptions, usual()
	st.finish = func(r *run, ctx context.Context, list []Output) (Made, error) {
		return r.finish(ctx, append(list, (&run{made: sound}).drawing(held)))
	}
	opt.stages = &st
	b, err := l.Build(context.Background(), opt)
	require.NoError(t, err)
	found := b.Failures()
	require.NotEmpty(t, found)
	assert.Equal(t, "held", found[0].ID)
	assert.Contains(t, found[0].Text, "nobody has measured")
}

// TestUnusedStock: what one step takes of a counted stock is not there for the next.
func TestUnusedStock(t *testing.T) {
	long(t)
	b := shopJob(t, "sold: 5 mm")
	sheets := b.Set.Sheets
	require.Len(t, sheets, 2)
	for _, c := range []struct{ stock, want string }{
		{"sheets: [{width: 1000, height: 600, count: 2}]", ""},
		{"sheets: [{width: 1000, height: 600, count: 1}]", "the stock of 1 sheet holds 5 of 21 pieces"},
		{"sheets: [{width: 1000, height: 600, count: 1}, {width: 900, height: 620}]", ""},
	} {
		text, err := os.ReadFile("../../testdata/jobs/shop-9ft.yaml")
		require.NoError(t, err)
		const old = "sheets: [{width: 1000, height: 600}]"
		require.True(t, bytes.Contains(text, []byte(old)))
		name := filepath.Join(t.TempDir(), "shop.yaml")
		require.NoError(t, os.WriteFile(name, bytes.Replace(text, []byte(old), []byte(c.stock), 1), 0o600))
		l, err := loadJob(name)
		require.NoError(t, err)
		_, err = build(context.Background(), l, steps{})
		if c.want == "" {
			assert.NoError(t, err, c.stock)
			continue
		}
		assert.ErrorContains(t, err, c.want, c.stock)
	}
}
