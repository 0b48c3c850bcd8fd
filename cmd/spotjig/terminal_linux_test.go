package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"spotjig/layout/screen"
)

// onTerminal runs a command with a terminal of so many columns on both its outputs, and
// returns what a person saw there.
func onTerminal(t *testing.T, cols int, args ...string) (code int, seen string) {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skip("no terminals to be had here: ", err)
	}
	defer master.Close()
	require.NoError(t, unix.IoctlSetPointerInt(int(master.Fd()), unix.TIOCSPTLCK, 0))
	n, err := unix.IoctlGetInt(int(master.Fd()), unix.TIOCGPTN)
	require.NoError(t, err)
	require.NoError(t, unix.IoctlSetWinsize(int(master.Fd()), unix.TIOCSWINSZ, &unix.Winsize{Row: 25, Col: uint16(cols)}))
	tty, err := os.OpenFile(fmt.Sprintf("/dev/pts/%d", n), os.O_RDWR|unix.O_NOCTTY, 0)
	require.NoError(t, err)
	got := make(chan string)
	go func() {
		var b bytes.Buffer
		io.Copy(&b, master) // ends with an error when the last writer has gone
		got <- b.String()
	}()
	code = run(context.Background(), args, strings.NewReader(""), tty, tty)
	require.NoError(t, tty.Close())
	return code, strings.ReplaceAll(<-got, "\r\n", "\n")
}

// Every command, its help and what it says of mistakes fits a terminal of 80 columns, as a
// person at one sees it.
func TestEveryCommandFitsTheTerminal(t *testing.T) {
	if testing.Short() {
		t.Skip("every command, some with a set: TestEightyColumns looks at a few")
	}
	t.Chdir(t.TempDir())
	put := func(name, text string) { require.NoError(t, os.WriteFile(name, []byte(text), 0o600)) }
	put("club.yaml", "units: in\ntable: {length: 100 in, width: 50 in, measured: nose-to-nose}\ngames: [pool, snooker]\n"+
		"also_tables: [{name: hall, length: 2541 mm, width: 1270 mm}, {name: annexe, length: 2500 mm, width: 1250 mm}]\n")
	// Refused, or made again without -v: the same on a job that is quickly made.
	quick := "quick.yaml"
	put(quick, quickLaser)
	if os.Getenv("SPOTJIG_ALL") != "" {
		quick = "club.yaml"
	}
	put("wrong.yaml", "table: {lenght: 100 in, width: 50 in}\ngames: [chess]\njig: {tolerance: 900 mm}\nmachine: {like: laser-700x700}\n")
	put("bad.nc", "G21 G90\nG0 X9999 Y10\nM3 S300\nG1 X30\nG41 D1\nM5 S0\nG0 X0\n")
	put("readings.txt", "yellow: head 524.5 mm, right 423 mm\nhead-string: left-right 4 mm\nblack: from pink 404 mm, head 2000 mm\n")
	put("torn.txt", "yelow: head 524,5 mm\nnothing\nbrown: up 3 mm\n")
	code, seen := onTerminal(t, screen.Columns, "coupon", "club.yaml", "-o", "piece")
	require.Zero(t, code, seen)
	form, err := os.ReadFile(filepath.Join("piece", "reading.txt"))
	require.NoError(t, err)
	for empty, full := range map[string]string{"comb_x: []": "comb_x: [129.10, 129.11, 129.10]", "comb_y: []": "comb_y: [129.12, 129.11, 129.12]", "thickness: []": "thickness: [4.83, 4.86, 4.91, 4.88]",
		"square_x: []": "square_x: [100.01, 100.02]", "slot_slide:": "slot_slide: E", "  a_b: []": "  a_b: [575.2]", "  a_d: []": "  a_d: [375.1]", "  a_c: []": "  a_c: [686.5]"} {
		form = bytes.Replace(form, []byte("\n"+empty), []byte("\n"+full), 1)
	}
	put("filled.txt", string(form))
	calls := [][]string{
		{"make", "club.yaml", "-o", "set", "-v"}, {"make", "wrong.yaml", "-o", "set3"}, {"make", quick, "-o", "."}, {"make", quick, "-o", "quick"},
		{"marks", "club.yaml"}, {"marks", "club.yaml", "--format", "card"}, {"marks", "wrong.yaml"}, {"marks", "--format", "banana"}, {"balls", "club.yaml"},
		{"coupon", "club.yaml", "-o", "piece", "-v"}, {"coupon", "club.yaml", "-o", "piece2", "--stock", "300x150"}, {"coupon", "club.yaml", "--stock", "banana"},
		{"kerf", "filled.txt"}, {"kerf", "piece/reading.txt"}, {"kerf", "readings.txt"},
		{"dryrun", "--machine", "laser-600x400", "set", "bad.nc"}, {"dryrun", "--assume", "--machine", "laser-600x400", "bad.nc"}, {"dryrun", "--machine", "nobody", "bad.nc"}, {"dryrun"}, {"dryrun", "--start", "1", "bad.nc"}, {"dryrun", "nosuch.nc"},
		{"verify", "set", "-v"}, {"verify", "quick", "piece", "nosuch"},
		{"marked", "club.yaml", "readings.txt"}, {"marked", "club.yaml", "readings.txt", "readings.txt"}, {"marked", "club.yaml", "torn.txt"}, {"marked", "club.yaml"},
		{"list", "games"}, {"list", "machines"}, {"list", "materials"}, {"list", "nothing"}, {"explain", "--all"}, {"explain", "kerff"}, {"schema", "jbo"}, {"man", "nothing"},
		{"completion", "nosuch"}, {"version"}, {"new", "club.yaml"}, {"new", "fresh.yaml"}, {"page", "--serve", "extra"}, {"--help"}, {"mkae"}, {"make", "--banana"},
	}
	for _, c := range newRootCmd(context.Background(), strings.NewReader(""), &bytes.Buffer{}, &bytes.Buffer{}).Commands() {
		calls = append(calls, []string{c.Name(), "--help"})
	}
	for _, call := range calls {
		t.Run(strings.Join(call, " "), func(t *testing.T) {
			_, seen := onTerminal(t, screen.Columns, call...)
			require.NotEmpty(t, seen)
			assert.NotContains(t, seen, "bug of ours")
			for _, l := range strings.Split(seen, "\n") {
				l = l[strings.LastIndex(l, "\r")+1:] // what a stage's line was wiped by
				assert.LessOrEqual(t, utf8.RuneCountInString(l), screen.Columns, l)
			}
		})
	}
}

// Into pipes and files every fault and finding keeps its line.
func TestFaultsKeepTheirLineInPipes(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("long.yaml", []byte("table: {length: 100 in, width: 50 in}\ngames: [pool]\n"+strings.Repeat("x", 60)+": 1\n"), 0o600))
	var out, errw bytes.Buffer
	assert.Equal(t, exitProblem, run(context.Background(), []string{"marks", "long.yaml"}, strings.NewReader(""), &out, &errw))
	first, _, _ := strings.Cut(errw.String(), "\n")
	assert.Greater(t, len(first), screen.Columns)
	assert.Regexp(t, `^long\.yaml:3:1: x.*\[J[0-9]+\]$`, first)
	code, seen := onTerminal(t, screen.Columns, "marks", "long.yaml")
	assert.Equal(t, exitProblem, code)
	assert.Equal(t, strings.Join(strings.Fields(errw.String()), " "), strings.Join(strings.Fields(seen), " "))
}
