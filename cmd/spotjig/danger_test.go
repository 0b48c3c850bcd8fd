package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// danger is a program that must not pass without a word, and the code of that word.
type danger struct {
	name, code, machine, text string
}

const (
	dangerHead  = "G21 G90 G17 G94 G40 G49 G54\nM5\nS0\n"
	dangerBlade = "G21 G90 G17 G94 G40 G49 G54\nG0 Z5\n"
	dangerTail  = "S0\nM5\nM2\n"
)

// burning is a laser's program whose beam is on where lines stand.
func burning(lines string) string {
	return dangerHead + "F600\nG0 X10 Y10\nM4\nS300\nG1 X20\n" + lines + "\nG1 X40 F600\n" + dangerTail
}

// dangers are programs made here, each with one thing that hurts a sheet, a machine or an
// eye on some controller in use.
func dangers() []danger {
	laser := func(name, code, text string) danger { return danger{name, code, "laser-600x400", text} }
	knife := func(name, code, text string) danger {
		return danger{name, code, "knife-600x300", dangerBlade + text + "M2\n"}
	}
	mill := func(name, code, text string) danger {
		return danger{name, code, "router-600x400", "G21 G90 G17 G94 G40 G49 G54\nG0 Z5\n" + text + "G0 Z5\nM5\nM2\n"}
	}
	line := func(name, code, line string) danger {
		return laser(name, code, dangerHead+"F600\nG0 X10 Y10\n"+line+"\nM2\n")
	}
	return []danger{
		laser("one long dwell", "D702", burning("G4 P2")),
		laser("many short dwells", "D702", burning(strings.Repeat("G4 P0.3\n", 20))),
		laser("dwells with power rewritten", "D702", burning(strings.Repeat("G4 P0.3\nS299\n", 20))),
		laser("steps of a last digit between dwells", "D702", burning("G91\n"+strings.Repeat("G4 P0.3\nG1 X0.0001\n", 20)+"G90")),
		laser("steps of a last digit, slowly", "D716", burning("G91\n"+strings.Repeat("G1 X0.0001 F0.1\n", 40)+"G90")),
		laser("a crawl", "D716", burning("G1 X21 F0.01")),
		laser("a crawl in inverse time", "D716", burning("G93\nG1 X21 F0.01\nG94")),
		laser("a short crawl", "D716", burning("G1 X20.1 F0.5")),
		laser("circles of a hundredth", "D716", burning("G91\n"+strings.Repeat("G2 X0 Y0 I0.01 J0\n", 3000)+"G90")),
		laser("squares of a hundredth", "D716", burning("G91\n"+strings.Repeat("G1 X0.01\nY0.01\nX-0.01\nY-0.01\n", 800)+"G90")),
		laser("power written 100,000 times", "D716", burning(strings.Repeat("S300\nS301\n", 50_000))),
		laser("cuts that go nowhere", "D716", burning(strings.Repeat("G1 X20\n", 2000))),
		laser("a dwell, and a crawl from there", "D716", burning("G4 P0.4\nG1 X20.2 F15")),
		laser("beam on in a rapid", "D701", burning("G0 X30")),
		laser("beam on at a stop", "D705", burning("M0")),
		laser("beam on at the end", "D704", strings.Replace(burning(""), dangerTail, "M2\n", 1)),
		laser("beam never stated", "D309", "G21 G90 G17 G94 G40 G49 G54\nF600\nG0 X10\nM4 S300\nG1 X20\nM5 S0\nM2\n"),
		laser("M5 and never S", "D309", "G21 G90 G17 G94 G40 G49 G54\nM5\nF600\nG0 X10\nG1 X20\nM2\n"),
		laser("S0 and never M5", "D309", "G21 G90 G17 G94 G40 G49 G54\nS0\nF600\nG0 X10\nG1 X20\nM2\n"),
		laser("M4 without S", "D310", "G21 G90 G17 G94 G40 G49 G54\nM5\nF600\nG0 X10\nM4\nG1 X20\nM5\nM2\n"),
		laser("M3 without S", "D310", "G21 G90 G17 G94 G40 G49 G54\nM5\nF600\nG0 X10\nM3\nG1 X20\nM5\nM2\n"),
		laser("S without M", "D311", "G21 G90 G17 G94 G40 G49 G54\nS0\nF600\nG0 X10\nS300\nG1 X20\nS0\nM2\n"),
		laser("M3 where the profile says M4", "D715", strings.Replace(burning(""), "M4", "M3", 1)),
		{"M4 where the profile says M3", "D715", "m3.yaml", burning("")},
		{"S0 alone where S is taken with M3 and M4", "D701", "with-m.yaml", dangerHead + "F600\nG0 X10\nM3 S300\nG1 X20\nS0\nG0 X30\nM5\nM2\n"},
		line("origin written", "D216", "G10 L2 P1 X5 Y5"),
		line("home of G28 written", "D216", "#5161=10"),
		line("home of G30 written", "D216", "#5183=10"),
		line("origin written by parameter", "D118", "#5221=10"),
		line("last of the origins by parameter", "D118", "#5390=10"),
		line("a program in a comment", "D137", "(py, import os)"),
		line("a probe's file", "D137", "(PROBEOPEN a.txt)"),
		line("a log", "D137", "(LOGOPEN, a.txt)"),
		line("a display", "D137", "(AXIS,hide)"),
		line("a message", "D137", "(MSG, look out)"),
		line("a message after a semicolon", "D137", "; MSG, look out"),
		line("stop sign in a comment", "D136", "(wait!)"),
		line("go sign in a comment", "D136", "(about ~5 mm)"),
		line("question mark in a comment", "D136", "(ok?)"),
		line("reset in a comment", "D136", "(a\x18b)"),
		line("byte above ASCII in a comment", "D136", "(caf\xE9)"),
		line("byte after a semicolon", "D136", "; 5 \xC2\xB5m"),
		line("end of file in a comment", "D136", "(a\x1Ab)"),
		line("NUL in a comment", "D136", "(a\x00b)"),
		line("escape in a comment", "D136", "(a\x1Bb)"),
		line("hold in a comment", "D136", "(a\x13b)"),
		line("stop sign outside", "D101", "!"),
		laser("CR alone throughout", "D138", strings.ReplaceAll(burning(""), "\n", "\r")),
		laser("one CR alone", "D138", strings.Replace(burning(""), "\n", "\r", 1)),
		laser("comment, CR, word", "D138", dangerHead+"F600\nG0 X10 ; note\rG0 X20\nM2\n"),
		laser("ends of two kinds", "D139", strings.Replace(burning(""), "\n", "\r\n", 3)),
		line("code near a code", "D134", "G0.99999 X20"),
		line("M near a code", "D134", "M4.99999"),
		line("blank in a number", "D135", "G0 X1 00"),
		line("blank before the point", "D135", "G0 X1 .5"),
		line("decimal comma", "D101", "G0 X10,5"),
		line("arc in G18 without Z", "D212", "G18\nG2 X20 I5 K0\nG17"),
		line("arc in G19 without Z", "D212", "G19\nG2 Y20 J5 K0\nG17"),
		{"R beside a code passed over", "D119", "extra.yaml", dangerHead + "F600\nG0 X10\nG1 X5 R3 M8\nM2\n"},
		{"F before G94", "D305", "plain.yaml", "G21 G90 G17 G40 G49 G54\nM5 S0\nF600\nG94\nG1 X10\nM2\n"},
		{"F before G21", "D301", "plain.yaml", "F600 G94\nG90 G17 G40 G49 G54\nG21\nM5 S0\nG1 X10\nM2\n"},
		{"G28 with words, then a cut", "D214", "home.yaml", "G21 G90 G17 G94 G40 G49 G54\nM5 S0\nF600\nG0 X50 Y50\nG91 G28 Y0\nG90 G1 X60\nM2\n"},
		{"G28 with words, then a step", "D214", "home.yaml", "G21 G90 G17 G94 G40 G49 G54\nM5 S0\nF600\nG0 X50 Y50\nG91 G28 Y0\nG0 X60\nM2\n"},
		{"unknown home, then a cut", "D214", "laser-600x400", dangerHead + "F600\nG0 X50 Y50\nG28\nG1 X60\nM2\n"},
		laser("beam on, and home by G28", "D701", burning("G28")),
		mill("home by G28 out of the sheet", "D718", "M3 S9000\nG0 X10 Y10\nG1 Z-2 F300\nG28\n"),
		knife("home by G30 with the blade down", "D801", "G0 X70 Y70\nG1 Z-0.6 F300\nG30\n"),
		mill("cycle in two ways", "D411", "M3 S9000\nF300\nG91 G99 G81 X5 R-1 Z-3 L3\nG80 G90\n"),
		mill("spindle off", "D717", "G0 X10 Y10\nG1 Z-2 F300\nG1 X40\n"),
		mill("rapid in the sheet", "D718", "M3 S9000\nG0 X10 Y10\nG1 Z-2 F300\nG0 X40\n"),
		mill("plunge at travel speed", "D718", "M3 S9000\nG0 X10 Y10\nG0 Z-2\n"),
		mill("below the floor", "D604", "M3 S9000\nG0 X10 Y10\nG1 Z-25.5 F300\n"),
		knife("dip on an arc in G18", "D803", "G0 X70 Y70 Z0.5\nG18\nG2 X72 Z0.5 I1 K0 F300\nG17\nG0 Z5\n"),
		knife("dip on an arc in G19", "D803", "G0 X70 Y70 Z0.5\nG19\nG3 Y72 Z0.5 J1 K0 F300\nG17\nG0 Z5\n"),
		{"no lift before the first travel", "D806", "knife-600x300", "G21 G90 G17 G94 G40 G49 G54\nG0 X10 Y10\nG0 Z5\nM2\n"},
		knife("blade down at the end", "D807", "G0 X70 Y70\nG1 Z-0.6 F300\nG1 X90\n"),
		knife("plunge too fast", "D808", "G0 X70 Y70\nG1 Z-0.6 F900\nG0 Z5\n"),
	}
}

// dangerMachines are the profiles that some dangers want.
func dangerMachines() map[string]string {
	const bed = "travel: {x: 600, y: 400}\noffsets: {G54: {}}\n"
	return map[string]string{
		"plain.yaml": bed, "m3.yaml": bed + "controller: line-streamed\nbeam: M3\n", "with-m.yaml": bed + "controller: line-streamed\nbeam: M3\ndialect: {power_word: M}\n",
		"extra.yaml": bed + "controller: line-streamed\ndialect: {extra_words: [M8]}\n", "home.yaml": bed + "controller: line-streamed\nhomes: {G28: {x: 1, y: 399}}\n",
	}
}

// TestDangers: nothing dangerous passes without a word, and with --assume nothing that is
// no matter of what is usual.
func TestDangers(t *testing.T) {
	list := dangers()
	files := dangerMachines()
	for i, d := range list {
		files[fmt.Sprintf("p%d.nc", i)] = d.text
	}
	dir := putFiles(t, files)
	var table strings.Builder
	for i, d := range list {
		machine := d.machine
		if strings.HasSuffix(machine, ".yaml") {
			machine = filepath.Join(dir, machine)
		}
		opt := dryrunOptions{Files: []string{filepath.Join(dir, fmt.Sprintf("p%d.nc", i))}, Machine: machine}
		exit, reports, stderr := dryrunJSON(t, opt)
		require.Empty(t, stderr, d.name)
		var codes []string
		for _, p := range reports[0].Problems {
			codes = append(codes, p.Code)
			if p.Code == d.code && p.Severity == "error" {
				assert.Equal(t, 1, exit, d.name)
			}
		}
		assert.Contains(t, codes, d.code, "%s\n%.400s", d.name, d.text)
		fmt.Fprintf(&table, "%-45s %s\n", d.name, d.code)
	}
	t.Logf("%d dangers, each found:\n%s", len(list), table.String())
}

// TestAdviceNeverMovesFurther: what is said to a decimal comma does not make another
// number of it.
func TestAdviceNeverMovesFurther(t *testing.T) {
	dir := putFiles(t, map[string]string{"a.nc": dangerHead + "G0 X10,5\nM2\n"})
	_, reports, _ := dryrunJSON(t, dryrunOptions{Files: []string{filepath.Join(dir, "a.nc")}, Machine: "laser-600x400"})
	require.NotEmpty(t, reports[0].Problems)
	assert.NotContains(t, reports[0].Problems[0].Help, "remove")
	assert.Contains(t, reports[0].Problems[0].Help, "decimal point")
}

// TestRouterMakesNoJig: make refuses a router by name and writes nothing.
func TestRouterMakesNoJig(t *testing.T) {
	dir := putFiles(t, map[string]string{"job.yaml": "table: {length: 2541, width: 1269.5}\ngames: [pool]\nmachine: router-600x400\n"})
	out := filepath.Join(dir, "out")
	var errw strings.Builder
	exit := run(context.Background(), []string{"make", filepath.Join(dir, "job.yaml"), "-o", out}, strings.NewReader(""), &strings.Builder{}, &errw)
	assert.Equal(t, 1, exit)
	assert.Contains(t, errw.String(), "no jig is made for a router")
	_, err := os.Stat(out)
	assert.True(t, os.IsNotExist(err))
}
