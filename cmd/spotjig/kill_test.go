package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"spotjig/cmd/spotjig/folder"
)

// withoutExchange is the program run where the kernel knows no exchange of two
// folders; see mainWithoutExchange.
const withoutExchange = "spotjig-without-exchange"

// mainWithoutExchange is the real main after the call that exchanges folders has
// been taken away from this process. Where that cannot be done it ends with
// status exitNoFilter, and the tests that need it say so.
func mainWithoutExchange() {
	if err := forbidExchange(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(exitNoFilter)
	}
	main()
}

const exitNoFilter = 99

// unconfirming is the program on a disk that confirms no file; and, as "unconfirming DIR", a
// folder replaced by a set without files on a disk that confirms not even folders.
const unconfirming = "spotjig-unconfirming"

func mainUnconfirming() {
	make := len(os.Args) != 2
	if err := unconfirmed(make); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(exitNoFilter)
	}
	if make {
		main()
		return
	}
	if err := folder.Replace(context.Background(), os.Args[1], nil, folder.Options{}); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(exitProblem)
	}
}

// A loss of power leaves the old set or the new one, because the disk has every file, and
// then their folder, before the two sets are exchanged. A disk that confirms either by an
// error must keep the old set in its place: a run that never asks would not notice.
func TestNothingIsExchangedBeforeTheDiskHasIt(t *testing.T) {
	if testing.Short() {
		t.Skip("two sets: left out with -short")
	}
	t.Parallel()
	dir, name := filepath.Join(t.TempDir(), "out"), filepath.Join(t.TempDir(), "job.yaml")
	require.NoError(t, os.WriteFile(name, []byte("name: other set\n"+shortShop), 0o600))
	require.NoError(t, folder.Replace(context.Background(), dir, buildText(t, shortShop).Files, folder.Options{}))
	k := killing{dir: dir}
	old := k.files(t)
	for what, args := range map[string][]string{"files": {"make", name, "-o", dir}, "their folder": {dir}} {
		out, err := exec.Command(unconfirming, args...).CombinedOutput()
		if exitStatusOf(err) == exitNoFilter {
			t.Skipf("the kernel lets no call be taken away here: %s", out)
		}
		require.Equal(t, exitProblem, exitStatusOf(err), "%s: %s", what, out)
		require.Contains(t, string(out), "cannot be written: ", what)
		require.Contains(t, string(out), "[F013]", what)
		require.Equal(t, old, k.files(t), what)
		left, err := filepath.Glob(beside(dir, "*"))
		require.NoError(t, err)
		require.Empty(t, left, what)
	}
}

// killing is a folder that holds one of two finished sets, made by the program
// itself, and what is known of how long a run takes.
type killing struct {
	dir   string
	jobs  [2]string
	sets  [2]map[string]string // each set's files
	whole time.Duration        // a run from start to end
	write time.Duration        // the part from the first file to the end
}

// TestMakeKilledAtRandomMoments kills the real program with SIGKILL while it
// makes a job over a folder that holds another finished set. After each kill the
// real `spotjig verify` must call the folder whole, and its bytes must be those of
// the old or of the new set; only where folders cannot be exchanged may the folder
// be missing, and then verify names that and where the old set is. The next `make`
// must end well, with the new set and nothing beside it. A third of the moments
// are spread over the whole run and a little more, the others over the time in
// which it writes and exchanges. Between two edits it is killed once while it writes and, where
// folders cannot be exchanged, once between the two moves; SPOTJIG_ALL=1 kills it six times,
// and SPOTJIG_KILLS sets how many.
func TestMakeKilledAtRandomMoments(t *testing.T) {
	if testing.Short() {
		t.Skip("a dozen runs of the program: left out with -short")
	}
	kills, few := 2, true
	if os.Getenv("SPOTJIG_ALL") != "" {
		kills, few = 6, false
	}
	if n, err := strconv.Atoi(os.Getenv("SPOTJIG_KILLS")); err == nil {
		kills, few = n, false
	}
	const seed = 20261125
	moments := rand.New(rand.NewSource(seed))
	k := newKilling(t)
	programs := []string{"spotjig", withoutExchange}
	if err := exec.Command(withoutExchange, "--version").Run(); err != nil {
		require.Equal(t, exitNoFilter, exitStatusOf(err), "%v", err)
		t.Logf("no kills without the exchange of folders: the kernel lets no call be taken away here")
		programs = programs[:1]
	}
	count := map[string]int{}
	old := 1
	for i := range kills {
		program := programs[i%len(programs)]
		at := fmt.Sprintf("seed %d kill %d, %s", seed, i, program)
		phase, share := killPhase(i/len(programs)%3), moments.Float64()
		if few {
			phase, share = writing+killPhase(i), share/2 // of two kills none should come too late
		}
		done := k.kill(t, program, k.jobs[1-old], phase, share)
		state := k.state(t, old, program == withoutExchange, at)
		require.False(t, done && state != "new", "%s: the run ended, but the folder is %s", at, state)
		if done {
			state = "new, the run had ended"
		}
		count[program+": "+state]++
		out, err := exec.Command(program, "make", k.jobs[1-old], "-o", k.dir).CombinedOutput()
		require.NoError(t, err, "%s: %s", at, out)
		require.Equal(t, k.sets[1-old], k.files(t), at)
		left, err := filepath.Glob(filepath.Join(filepath.Dir(k.dir), ".*spotjig*"))
		require.NoError(t, err)
		require.Empty(t, left, at)
		old = 1 - old
	}
	t.Logf("%d runs of make killed, each %.0f ms long, %.0f ms of it writing: %v", kills, ms(k.whole), ms(k.write), count)
}

func ms(d time.Duration) float64 { return d.Seconds() * 1000 }

func exitStatusOf(err error) int {
	var ended *exec.ExitError
	if errors.As(err, &ended) {
		return ended.ExitCode()
	}
	return -1
}

// shortShop is what a shop is sent of few marks and few letters: a run takes a third of a
// second, and writes as many kinds of files as any other shop's.
const shortShop = `table: {size: 7 ft pool, length: 1981.2 mm, width: 990.6 mm}
games: [carom]
jig: {letters: short}
machine: shop
material: {sold: 5 mm, thickness: 4.9 mm}
`

// newKilling makes both sets twice with the program, the second time over the
// other set, and measures that.
func newKilling(t *testing.T) killing {
	t.Helper()
	k := killing{dir: filepath.Join(t.TempDir(), "out")}
	for i, name := range []string{"first set", "other set"} {
		k.jobs[i] = filepath.Join(t.TempDir(), strconv.Itoa(i)+".yaml")
		require.NoError(t, os.WriteFile(k.jobs[i], []byte("name: "+name+"\n"+shortShop), 0o600))
	}
	for round := range 2 {
		for i := range k.jobs {
			begun := time.Now()
			cmd := k.start(t, "spotjig", k.jobs[i])
			fresh := k.appears(cmd, ".out.spotjig-new")
			wrote := time.Now()
			require.NoError(t, cmd.Wait())
			if whole := time.Since(begun); round > 0 && fresh && (k.whole == 0 || whole < k.whole) {
				k.whole, k.write = whole, time.Since(wrote) // the quicker of two: a late kill kills nothing
			}
			k.sets[i] = k.files(t)
		}
	}
	require.NotEqual(t, k.sets[0], k.sets[1])
	require.Positive(t, k.whole)
	return k
}

func (k killing) start(t *testing.T, program, job string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(program, "make", job, "-o", k.dir)
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	require.NoError(t, cmd.Start())
	return cmd
}

// appears waits until something of that name is beside the folder; false when
// the process no longer runs, or makes nothing of the kind in ten seconds.
func (k killing) appears(cmd *exec.Cmd, name string) bool {
	path := filepath.Join(filepath.Dir(k.dir), name)
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); time.Sleep(100 * time.Microsecond) {
		if _, err := os.Lstat(path); err == nil {
			return true
		}
		if ended(cmd.Process.Pid) {
			return false
		}
	}
	return false
}

// killPhase is what a moment is drawn from.
type killPhase int

const (
	overAll   killPhase = iota // the whole run and a tenth more
	writing                    // from the first file on
	exchanged                  // from the moment in which the old set has gone aside
)

// kill starts a run and ends it by SIGKILL at the share of the phase; it reports
// whether the run had ended by itself.
func (k killing) kill(t *testing.T, program, job string, p killPhase, share float64) (done bool) {
	t.Helper()
	cmd := k.start(t, program, job)
	wait := time.Duration(0)
	switch {
	case p == overAll:
		wait = k.whole * 11 / 10
	case p == exchanged && program == withoutExchange:
		k.appears(cmd, ".out.spotjig-old")
		wait = k.write / 4
	default:
		k.appears(cmd, ".out.spotjig-new")
		wait = k.write * 11 / 10
	}
	time.Sleep(time.Duration(share * float64(wait)))
	_ = cmd.Process.Kill() // it may have ended
	return cmd.Wait() == nil
}

// state asks the program for what a kill has left, and compares every byte.
func (k killing) state(t *testing.T, old int, mayName bool, at string) string {
	t.Helper()
	out, err := exec.Command("spotjig", "verify", k.dir).CombinedOutput()
	if err == nil {
		require.Contains(t, string(out), "whole and unedited", at)
		now := k.files(t)
		if fmt.Sprint(now) == fmt.Sprint(k.sets[old]) {
			return "old"
		}
		require.Equal(t, k.sets[1-old], now, at)
		return "new"
	}
	require.Equal(t, exitProblem, exitStatusOf(err), "%s: %s", at, out)
	require.True(t, mayName, "%s: %s", at, out)
	require.Contains(t, string(out), "[F036]", at)
	require.Contains(t, string(out), "the whole old set is in .out.spotjig-old", at)
	aside := k
	aside.dir = filepath.Join(filepath.Dir(k.dir), ".out.spotjig-old")
	require.Equal(t, k.sets[old], aside.files(t), at)
	return "named"
}

// files is every file of the folder by its name.
func (k killing) files(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	entries, err := os.ReadDir(k.dir)
	require.NoError(t, err)
	for _, e := range entries {
		b, err := os.ReadFile(filepath.Join(k.dir, e.Name()))
		require.NoError(t, err)
		out[e.Name()] = string(b)
	}
	return out
}
