package testpiece_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig/testpiece"
	"spotjig/layout/problem"
)

// jointForm is a form of a joint, filled in: a kerf of 0.21 found where 0.18 was allowed for.
func jointForm(t *testing.T, keyed bool, left, right, flank string) string {
	t.Helper()
	cut := cutForm()
	cut.Keyed = keyed
	var b strings.Builder
	require.NoError(t, testpiece.WriteForm(&b, cut, testpiece.FormOptions{Job: "Hall", Material: "cast acrylic", Version: "0"}))
	text := b.String()
	for key, v := range map[string]string{"comb_x": "[127.90, 127.90, 127.90]", "comb_y": "[127.90, 127.90, 127.90]",
		"joint_left": left, "joint_right": right, "joint_flank": flank} {
		require.Contains(t, text, "\n"+key+": []\n")
		text = strings.Replace(text, "\n"+key+": []\n", "\n"+key+": "+v+"\n", 1)
	}
	return text
}

// A leaf that does not go in tells that there is less: the thickest of those at both
// shoulders is the joint's closure. Beside a dovetail's tail, slid to one side, stands
// twice a flank's clearance: 0.22 mm is 0.11 a flank, of which 0.03 go with a kerf of
// 0.21 for 0.18. What stands beside a keyed tail is its own.
func TestJointTellsClosureAndSlip(t *testing.T) {
	for _, row := range []struct {
		name               string
		keyed              bool
		left, right, flank string
		closure, slip      float64
		want               []string
	}{
		{"keyed", true, "[0.03, 0.02]", "0.02", "[0.02]", 0.03, 0.02,
			[]string{"jig:\n  joint_closure: 0.03 mm\n  joint_slip: 0.02 mm            # of a keyed joint\n", "shoulders less than 0.03 mm open"}},
		{"dovetail", false, "0.04", "[0.05]", "[0.22, 0.20]", 0.05, 0.08,
			[]string{"  joint_closure: 0.05 mm\n", "  joint_slip: 0.08 mm            # of a dovetail joint\n"}},
		{"one shoulder alone", true, "0.05", "[]", "[]", 0.05, 0, []string{"  joint_closure: 0.05 mm\n"}},
		{"inches", true, "[]", "0.002 in", "[]", 0.0508, 0, []string{"  joint_closure: 0.06 mm\n"}},
		// 0.025 less 0.03 is 0.085 below the 0.08 drawn, within 0.1; no leaf is thinner than 0.01.
		{"a tight dovetail", false, "[]", "[]", "0.05", 0, 0.01, nil},
	} {
		t.Run(row.name, func(t *testing.T) {
			r, err := testpiece.ReadForm("r.txt", []byte(jointForm(t, row.keyed, row.left, row.right, row.flank)))
			require.NoError(t, err)
			c, _, err := r.Work()
			require.NoError(t, err)
			assert.InDelta(t, row.closure, c.Closure, 1e-9)
			assert.Equal(t, row.left != "[]" || row.right != "[]", c.ClosureRead)
			assert.InDelta(t, row.slip, c.Slip, 1e-6)
			assert.Equal(t, row.flank != "[]", c.SlipRead)
			var out strings.Builder
			require.NoError(t, c.Write(&out))
			for _, want := range row.want {
				assert.Contains(t, out.String(), want)
			}
			if !c.SlipRead {
				assert.NotContains(t, out.String(), "joint_slip")
			}
			told := c.Told()
			assert.Equal(t, c.ClosureRead, told.Closure != nil)
			assert.Equal(t, c.SlipRead, told.Slip != nil)
		})
	}
}

// Readings that no shut joint gives are refused where they stand: at the limit they are
// taken, past it not.
func TestJointReadingsThatCannotBe(t *testing.T) {
	for _, row := range []struct {
		keyed              bool
		left, right, flank string
		code, field        string
	}{
		{true, "0.2", "0.2", "0.2", "", ""},
		{true, "0.21", "[]", "[]", "M039", "joint_left"},
		{true, "[]", "0.21", "[]", "M039", "joint_right"},
		{true, "[]", "[]", "0.21", "M039", "joint_flank"},
		{false, "[]", "[]", "0.40", "", ""}, // 0.20 - 0.03 is 0.09 more than drawn
		{false, "[]", "[]", "0.44", "M039", "joint_flank"},
		{false, "[]", "[]", "0.01", "M039", "joint_flank"},
		{true, "1.1", "[]", "[]", "M030", "joint_left"},
		{true, "0", "[]", "[]", "M030", "joint_left"},
		{true, "[]", "[]", "[0,05]", "M030", "joint_flank[0]"},
	} {
		r, err := testpiece.ReadForm("r.txt", []byte(jointForm(t, row.keyed, row.left, row.right, row.flank)))
		if err == nil {
			_, _, err = r.Work()
		}
		if row.code == "" {
			assert.NoError(t, err, row)
			continue
		}
		list := problem.From(err)
		require.NotEmpty(t, list, row)
		assert.Equal(t, row.code, list[0].Code, row)
		assert.Equal(t, row.field, list[0].Field, row)
		assert.Positive(t, list[0].Line, row)
	}
}
