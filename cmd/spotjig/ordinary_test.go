package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ordinary is a block of testdata/programs/ordinary.txt, which says how it is read.
type ordinary struct{ name, machine, text string }

func ordinaries(t *testing.T) []ordinary {
	raw, err := os.ReadFile("../../testdata/programs/ordinary.txt")
	require.NoError(t, err)
	var out []ordinary
	for _, b := range strings.Split(string(raw), "\n== ")[1:] {
		head, text, ok := strings.Cut(b, "\n--\n")
		require.True(t, ok, head)
		name, machine, ok := strings.Cut(head, " | ")
		require.True(t, ok, head)
		text, _, ok = strings.Cut(text, "\n--\n")
		require.True(t, ok, head)
		out = append(out, ordinary{name, machine, strings.NewReplacer(`\r`, "\r", `\uFEFF`, "\uFEFF").Replace(text) + "\n"})
	}
	require.GreaterOrEqual(t, len(out), 40)
	return out
}

// TestOrdinaryPrograms: none of them is refused with --assume, none has a finding, and none
// has more than two lines of report beyond its figures: the verdict, and what happens if
// what it rests on is otherwise.
func TestOrdinaryPrograms(t *testing.T) {
	dir := putFiles(t, map[string]string{"dark.yaml": "travel: {x: 600, y: 400}\noffsets: {G54: {}}\ncontroller: line-streamed-dark\n"})
	var table strings.Builder
	for i, o := range ordinaries(t) {
		file := filepath.Join(dir, fmt.Sprintf("p%d.nc", i))
		require.NoError(t, os.WriteFile(file, []byte(o.text), 0o644))
		machine := o.machine
		if strings.HasSuffix(machine, ".yaml") {
			machine = filepath.Join(dir, machine)
		}
		opt := dryrunOptions{Files: []string{file}, Machine: machine, Assume: true}
		exit, reports, _ := dryrunJSON(t, opt)
		r := reports[0]
		assert.Zero(t, exit, o.name)
		assert.Equal(t, "pass", r.Verdict, "%s: %+v", o.name, r.Problems)
		var out, errw bytes.Buffer
		runDryrun(context.Background(), opt, &out, &errw)
		lines := strings.Split(strings.TrimSpace(strings.ReplaceAll(strings.ReplaceAll(out.String(), file+": ", ""), "\n           ", " ")), "\n")
		assert.True(t, strings.HasPrefix(lines[0], "pass"), o.name)
		said := 0
		for _, l := range lines {
			switch what, _, _ := strings.Cut(strings.TrimSpace(l), " "); what {
			case "X", "Y", "Z", "starts", "moves", "time", "if": // what it rests on counts by what happens otherwise
			default:
				said++
			}
		}
		assert.LessOrEqual(t, said, 2, "%s:\n%s", o.name, out.String())
		fmt.Fprintf(&table, "%-50s %s\n", o.name, lines[0])
	}
	t.Log("\n" + table.String())
}

// TestAssumptionsAreTold: without --assume the same program fails; with it the first line
// says what the verdict rests on, the status is 0, and the JSON lists it.
func TestAssumptionsAreTold(t *testing.T) {
	dir := putFiles(t, map[string]string{
		"a.nc":       "G21 G90\nG0 X10 Y10\nM3 S300\nG1 X30 F600\nM5 S0\nG0 X0\n",
		"plain.yaml": "travel: {x: 600, y: 400}\n",
	})
	file := filepath.Join(dir, "a.nc")
	opt := dryrunOptions{Files: []string{file}, Machine: "laser-600x400"}
	exit, reports, _ := dryrunJSON(t, opt)
	assert.Equal(t, 1, exit)
	assert.Empty(t, reports[0].Assumed)
	opt.Assume = true
	exit, reports, _ = dryrunJSON(t, opt)
	assert.Zero(t, exit)
	assert.Equal(t, "pass", reports[0].Verdict)
	var codes []string
	for _, a := range reports[0].Assumed {
		codes = append(codes, a.Code)
		assert.NotEmpty(t, a.Taken)
		assert.NotEmpty(t, a.Otherwise)
	}
	assert.Equal(t, []string{"D309", "D715", "D128"}, codes)
	var out bytes.Buffer
	assert.Zero(t, runDryrun(context.Background(), opt, &out, &out))
	assert.True(t, strings.HasPrefix(strings.Join(strings.Fields(out.String()), " "), file+": pass if what follows is so if M5 and S0 are in force when the program begins; M3 is meant where the profile says M4; the file is whole else the first travel burns (line 2, D309); "), out.String())

	// Of a machine about which nothing is said, modes and work zero are taken too, each by name.
	opt.Machine = filepath.Join(dir, "plain.yaml")
	_, reports, _ = dryrunJSON(t, opt)
	assert.Equal(t, "pass", reports[0].Verdict, "%+v", reports[0].Problems)
	var taken []string
	for _, a := range reports[0].Assumed {
		taken = append(taken, a.Taken)
	}
	for _, want := range []string{"G17 is in force", "G54 is in force", "G40 is in force", "G49 is in force", "G94 is in force", "work zero of G54 is the travel's lower left corner"} {
		assert.Contains(t, taken, want)
	}
}

// TestAssumingHidesNoHazard: every danger that is no matter of what is usual fails or is
// told with --assume as without.
func TestAssumingHidesNoHazard(t *testing.T) {
	usual := map[string]bool{"D309": true, "D806": true, "D715": true, "D305": true, "D301": true} // what a program leaves unsaid
	list, files := dangers(), dangerMachines()
	for i, d := range list {
		files[fmt.Sprintf("p%d.nc", i)] = d.text
	}
	dir := putFiles(t, files)
	for i, d := range list {
		if usual[d.code] {
			continue
		}
		machine := d.machine
		if strings.HasSuffix(machine, ".yaml") {
			machine = filepath.Join(dir, machine)
		}
		_, reports, _ := dryrunJSON(t, dryrunOptions{Files: []string{filepath.Join(dir, fmt.Sprintf("p%d.nc", i))}, Machine: machine, Assume: true})
		var codes []string
		for _, p := range reports[0].Problems {
			codes = append(codes, p.Code)
		}
		assert.Contains(t, codes, d.code, d.name)
	}
}
