package folder

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/problem"
	"spotjig/post/work"
)

// set is a small set of files of one generation, with the hashes that list them.
func set(t testing.TB, generation string) []work.File {
	t.Helper()
	files := []work.File{
		{Name: "marks.csv", Data: []byte("marks " + generation)},
		{Name: "sheet-1.nc", Data: bytes.Repeat([]byte("G1 "+generation+"\n"), 5000)},
		{Name: "view.html", Data: []byte("view " + generation)},
		{Name: work.RecordName, Data: []byte("{}")},
	}
	return append(files, work.File{Name: work.SumsName, Data: sumsOf(files)})
}

// sumsOf lists the hashes of files as a run does.
func sumsOf(files []work.File) []byte {
	var b bytes.Buffer
	for _, f := range files {
		if f.Name != work.SumsName {
			fmt.Fprintf(&b, "%x  %s\n", sha256.Sum256(f.Data), f.Name)
		}
	}
	return b.Bytes()
}

func replace(t testing.TB, dir, generation string, opt Options) error {
	t.Helper()
	return Replace(context.Background(), dir, set(t, generation), opt)
}

// requireCode asserts that err is one Problem with the code, a message and a remedy.
func requireCode(t *testing.T, err error, code string) problem.Problem {
	t.Helper()
	list := problem.From(err)
	require.Len(t, list, 1, "%v", err)
	require.Equal(t, code, list[0].Code, list[0].Msg)
	require.NotEmpty(t, list[0].Help)
	require.NotContains(t, list[0].Msg, "\n")
	return list[0]
}

// requireGeneration asserts that the folder is a whole set of that generation
// and that nothing is left beside it.
func requireGeneration(t *testing.T, dir, generation string) {
	t.Helper()
	s, err := examine(dir)
	require.NoError(t, err)
	require.True(t, s.whole(), "%+v", s)
	b, err := os.ReadFile(filepath.Join(dir, "marks.csv"))
	require.NoError(t, err)
	require.Equal(t, "marks "+generation, string(b))
	requireAlone(t, dir)
}

func requireAlone(t *testing.T, dir string) {
	t.Helper()
	left, err := filepath.Glob(filepath.Join(filepath.Dir(dir), ".*spotjig*"))
	require.NoError(t, err)
	require.Empty(t, left)
}

func TestReplace(t *testing.T) {
	for _, opt := range []Options{{}, {asideOnly: true}} {
		t.Run(fmt.Sprintf("%+v", opt), func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "out")
			require.NoError(t, replace(t, dir, "a", opt))
			requireGeneration(t, dir, "a")
			require.NoError(t, replace(t, dir, "b", opt))
			requireGeneration(t, dir, "b")
			require.NoError(t, os.Remove(filepath.Join(dir, "view.html")), "a file thrown away is no reason to refuse")
			require.NoError(t, replace(t, dir+"/", "c", opt))
			requireGeneration(t, dir, "c")
		})
	}
}

func TestEmptyFolderIsFilled(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, replace(t, dir, "a", Options{}))
	requireGeneration(t, dir, "a")
}

// What was there before a refused run is there after it, byte for byte.
func TestRefusals(t *testing.T) {
	for _, row := range []struct {
		name, code string
		spoil      func(t *testing.T, dir string)
		force      bool
		says       string
	}{
		{"foreign file", "F014", func(t *testing.T, dir string) { put(t, dir, "notes.txt", "mine") }, false, "notes.txt"},
		{"foreign file, forced", "F014", func(t *testing.T, dir string) { put(t, dir, "notes.txt", "mine") }, true, "notes.txt"},
		{"folder inside", "F014", func(t *testing.T, dir string) { require.NoError(t, os.Mkdir(filepath.Join(dir, "sub"), 0o777)) }, false, "sub"},
		{"edited", "F015", func(t *testing.T, dir string) { put(t, dir, "sheet-1.nc", "G0 X0") }, false, "sheet-1.nc"},
		{"edited, same length", "F015", func(t *testing.T, dir string) { put(t, dir, "marks.csv", "marks b") }, false, "marks.csv"},
		{"no hashes", "F014", func(t *testing.T, dir string) { require.NoError(t, os.Remove(filepath.Join(dir, work.SumsName))) }, false, "SHA256SUMS"},
		{"hashes broken", "F014", func(t *testing.T, dir string) { put(t, dir, work.SumsName, "{}") }, true, "SHA256SUMS"},
		{"record edited", "F015", func(t *testing.T, dir string) { put(t, dir, work.RecordName, "{ }") }, false, "record.json"},
		// A list edited to name a stranger's file once made the next run remove it.
		{"a stranger's file listed", "F014", func(t *testing.T, dir string) {
			put(t, dir, "precious.txt", "mine")
			listed, err := os.ReadFile(filepath.Join(dir, work.SumsName))
			require.NoError(t, err)
			put(t, dir, work.SumsName, fmt.Sprintf("%s%x  precious.txt\n", listed, sha256.Sum256([]byte("mine"))))
		}, true, "precious.txt"},
		{"listed file is a link", "F014", func(t *testing.T, dir string) {
			require.NoError(t, os.Remove(filepath.Join(dir, "view.html")))
			require.NoError(t, os.Symlink("marks.csv", filepath.Join(dir, "view.html")))
		}, true, "view.html"},
		{"terminal escape in a name", "F014", func(t *testing.T, dir string) { put(t, dir, "a\x1b]0;x\a", "") }, false, `\x1b`},
		{"read-only", "F019", func(t *testing.T, dir string) { require.NoError(t, os.Chmod(dir, 0o555)) }, false, "read-only"},
	} {
		t.Run(row.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "out")
			require.NoError(t, replace(t, dir, "a", Options{}))
			row.spoil(t, dir)
			before := snapshot(t, dir)
			p := requireCode(t, replace(t, dir, "b", Options{Force: row.force}), row.code)
			assert.Contains(t, p.Msg, row.says)
			assert.NotContains(t, p.Msg, "\x1b")
			assert.Equal(t, before, snapshot(t, dir))
			requireAlone(t, dir)
		})
	}
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
}

// snapshot is every name below dir with its kind and content.
func snapshot(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(p string, e fs.DirEntry, err error) error {
		if err != nil || !e.Type().IsRegular() {
			out[p] = e.Type().String()
			return err
		}
		b, err := os.ReadFile(p)
		out[p] = string(b)
		return err
	}))
	return out
}

func TestEditedIsReplacedWhenForced(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	require.NoError(t, replace(t, dir, "a", Options{}))
	put(t, dir, "sheet-1.nc", "G0 X0")
	require.NoError(t, replace(t, dir, "b", Options{Force: true}))
	requireGeneration(t, dir, "b")
}

func TestPlacesRefused(t *testing.T) {
	root := t.TempDir()
	job := filepath.Join(root, "club.yaml")
	put(t, root, "club.yaml", "name: x")
	require.NoError(t, os.Mkdir(filepath.Join(root, "real"), 0o777))
	require.NoError(t, os.Symlink("real", filepath.Join(root, "link")))
	require.NoError(t, os.Symlink("nowhere", filepath.Join(root, "dangling")))
	t.Chdir(filepath.Join(root, "real"))
	in := Options{Inputs: []string{job}}
	requireCode(t, replace(t, filepath.Join(root, "link"), "a", in), "F010")
	requireCode(t, replace(t, filepath.Join(root, "link")+"/", "a", in), "F010")
	requireCode(t, replace(t, filepath.Join(root, "dangling"), "a", in), "F010")
	requireCode(t, replace(t, job, "a", Options{}), "F011")
	requireCode(t, replace(t, filepath.Join(root, "no", "such"), "a", in), "F012")
	requireCode(t, replace(t, filepath.Join(job, "out"), "a", in), "F013")
	requireCode(t, replace(t, ".", "a", in), "F018")
	requireCode(t, replace(t, "..", "a", in), "F018")
	t.Chdir(filepath.Dir(root))
	requireCode(t, replace(t, root, "a", in), "F017")
	requireCode(t, replace(t, filepath.Join(root, "link", "..", ".")+"/", "a", in), "F017")
	left, err := os.ReadDir(root)
	require.NoError(t, err)
	require.Len(t, left, 4)
	requireAlone(t, filepath.Join(root, "x"))
}

// A folder below a link is the folder the link points to.
func TestParentMayBeALink(t *testing.T) {
	root := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(root, "real"), 0o777))
	require.NoError(t, os.Symlink("real", filepath.Join(root, "link")))
	require.NoError(t, replace(t, filepath.Join(root, "link", "out"), "a", Options{}))
	requireGeneration(t, filepath.Join(root, "real", "out"), "a")
}

func TestParentNotWritable(t *testing.T) {
	if os.Geteuid() == 0 || runtime.GOOS == "windows" {
		t.Skip("permissions do not bind this user")
	}
	root := t.TempDir()
	require.NoError(t, os.Chmod(root, 0o555))
	t.Cleanup(func() { os.Chmod(root, 0o777) })
	requireCode(t, replace(t, filepath.Join(root, "out"), "a", Options{}), "F013")
}

// A file that cannot be created, because its name is longer than file systems allow.
func TestWriteErrorLeavesTheOldSet(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	require.NoError(t, replace(t, dir, "a", Options{}))
	long := work.File{Name: "sheet-" + strings.Repeat("1", 300) + ".nc"}
	err := Replace(context.Background(), dir, append(set(t, "b"), long), Options{})
	requireCode(t, err, "F013")
	requireGeneration(t, dir, "a")
}

func TestInterruptLeavesTheOldSet(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	require.NoError(t, replace(t, dir, "a", Options{}))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	require.ErrorIs(t, Replace(ctx, dir, set(t, "b"), Options{}), context.Canceled)
	requireGeneration(t, dir, "a")
}

// What stands in the way is told before a set is made, and looking changes nothing. A folder
// that another run holds is left to the look before writing.
func TestCheckRefusesBeforeASetIsMade(t *testing.T) {
	root := t.TempDir()
	dir := filepath.Join(root, "out")
	require.NoError(t, Check(dir, Options{}))
	requireCode(t, Check(filepath.Join(root, "no", "such"), Options{}), "F012")
	requireCode(t, Check(filepath.Join(root), Options{Inputs: []string{filepath.Join(root, "club.yaml")}}), "F017")
	t.Chdir(root)
	requireCode(t, Check(".", Options{}), "F018")
	require.NoError(t, replace(t, dir, "a", Options{}))
	require.NoError(t, Check(dir, Options{}))
	put(t, dir, "sheet-1.nc", "G0 X0")
	before := snapshot(t, root)
	requireCode(t, Check(dir, Options{}), "F015")
	require.NoError(t, Check(dir, Options{Force: true}))
	put(t, dir, "mine.txt", "mine")
	requireCode(t, Check(dir, Options{Force: true}), "F014")
	require.NoError(t, os.Remove(filepath.Join(dir, "mine.txt")))
	require.Equal(t, before, snapshot(t, root))

	where, err := targetOf(dir)
	require.NoError(t, err)
	unlock, err := Lock(where.key)
	require.NoError(t, err)
	require.NoError(t, Check(dir, Options{}))
	unlock()
	requireCode(t, Check(dir, Options{}), "F015")
}

func TestSecondRunIsRefusedWhileTheFirstWrites(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	where, err := targetOf(dir)
	require.NoError(t, err)
	unlock, err := Lock(where.key)
	require.NoError(t, err)
	requireCode(t, replace(t, dir, "a", Options{}), "F016")
	unlock()
	require.NoError(t, replace(t, dir, "a", Options{}))
	requireGeneration(t, dir, "a")
}

func TestManyRunsAtOnce(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	require.NoError(t, replace(t, dir, "start", Options{}))
	done := make(chan error)
	const runs = 8
	for i := range runs {
		files := set(t, strconv.Itoa(i))
		go func() { done <- Replace(context.Background(), dir, files, Options{}) }()
	}
	won := 0
	for range runs {
		if err := <-done; err == nil {
			won++
		} else {
			requireCode(t, err, "F016")
		}
	}
	assert.Positive(t, won)
	s, err := examine(dir)
	require.NoError(t, err)
	assert.True(t, s.whole())
	requireAlone(t, dir)
}

// A file that appears between the look and the exchange is not lost.
func TestFileThatAppearsMeanwhileIsKept(t *testing.T) {
	for _, opt := range []Options{{}, {asideOnly: true}} {
		dir := filepath.Join(t.TempDir(), "out")
		require.NoError(t, replace(t, dir, "a", opt))
		where, err := targetOf(dir)
		require.NoError(t, err)
		require.NoError(t, where.build(context.Background(), set(t, "b")))
		put(t, dir, "notes.txt", "mine")
		before := snapshot(t, dir)
		requireCode(t, where.swap(opt), "F014")
		assert.Equal(t, before, snapshot(t, dir))
		requireAlone(t, dir)
	}
}

// The states a kill can leave are mended by the next run.
func TestLeftoversAreMended(t *testing.T) {
	for _, row := range []struct {
		name  string
		leave func(t *testing.T, w target)
	}{
		{"half a new set", func(t *testing.T, w target) {
			require.NoError(t, os.Mkdir(w.fresh, 0o777))
			put(t, w.fresh, "marks.csv", "ma")
		}},
		{"old set not yet removed", func(t *testing.T, w target) { require.NoError(t, w.build(context.Background(), set(t, "z"))) }},
		{"set aside", func(t *testing.T, w target) { require.NoError(t, os.Rename(w.dir, w.old)) }},
		{"set aside and new one built", func(t *testing.T, w target) {
			require.NoError(t, os.Rename(w.dir, w.old))
			require.NoError(t, w.build(context.Background(), set(t, "z")))
		}},
		{"old set aside not yet removed", func(t *testing.T, w target) {
			require.NoError(t, w.build(context.Background(), set(t, "z")))
			require.NoError(t, os.Rename(w.fresh, w.old))
		}},
		{"lock of a dead run", func(t *testing.T, w target) { put(t, filepath.Dir(w.key), filepath.Base(w.key), "") }},
	} {
		t.Run(row.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "out")
			require.NoError(t, replace(t, dir, "a", Options{}))
			where, err := targetOf(dir)
			require.NoError(t, err)
			row.leave(t, where)
			require.NoError(t, replace(t, dir, "b", Options{}))
			requireGeneration(t, dir, "b")
		})
	}
}

// What a run never wrote is not removed, even under its own hidden name.
func TestStrangeLeftoverIsNotRemoved(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	where, err := targetOf(dir)
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(filepath.Join(where.fresh, "sub"), 0o777))
	requireCode(t, replace(t, dir, "a", Options{}), "F020")
	_, err = os.Stat(filepath.Join(where.fresh, "sub"))
	require.NoError(t, err)
}

// childEnv makes TestReplaceForEver, in a child of its own, do what it says.
const childEnv = "SPOTJIG_TEST_REPLACE"

// No test by itself: the process that TestKilledAtRandomMoments kills.
func TestReplaceForEver(t *testing.T) {
	dir := os.Getenv(childEnv)
	if dir == "" {
		t.Skip("runs only as the child of TestKilledAtRandomMoments")
	}
	opt := Options{asideOnly: os.Getenv(childEnv+"_ASIDE") != ""}
	for i := 0; ; i++ {
		require.NoError(t, replace(t, dir, strconv.Itoa(i), opt))
		if i == 0 {
			fmt.Println("ready")
		}
	}
}

// Killed at a random moment, the folder holds a whole set, old or new; where
// folders cannot be exchanged it may be missing with the whole old set beside
// it. The next run works in every case. SPOTJIG_KILLS sets how many kills.
func TestKilledAtRandomMoments(t *testing.T) {
	kills := 30
	if n, err := strconv.Atoi(os.Getenv("SPOTJIG_KILLS")); err == nil {
		kills = n
	}
	const seed = 20261120
	moments := rand.New(rand.NewSource(seed))
	aside := 0
	for i := range kills {
		dir := filepath.Join(t.TempDir(), "out")
		byAside := i%2 == 1
		killChild(t, dir, byAside, time.Duration(moments.Intn(30_000))*time.Microsecond)
		where, err := targetOf(dir)
		require.NoError(t, err)
		s, err := examine(dir)
		require.NoError(t, err)
		if byAside && s.absent {
			aside++
			s, err = examine(where.old)
			require.NoError(t, err)
		}
		require.True(t, s.whole(), "seed %d kill %d: %+v", seed, i, s)
		require.NoError(t, replace(t, dir, "after", Options{}), "seed %d kill %d", seed, i)
		requireGeneration(t, dir, "after")
	}
	t.Logf("%d kills, %d of them between the two steps of setting aside", kills, aside)
}

func killChild(t *testing.T, dir string, aside bool, after time.Duration) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^TestReplaceForEver$")
	cmd.Env = append(os.Environ(), childEnv+"="+dir)
	if aside {
		cmd.Env = append(cmd.Env, childEnv+"_ASIDE=1")
	}
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	line := make([]byte, len("ready\n"))
	_, err = io.ReadFull(out, line)
	require.NoError(t, err)
	require.Equal(t, "ready\n", string(line))
	time.Sleep(after)
	require.NoError(t, cmd.Process.Kill())
	rest, _ := io.ReadAll(out)
	require.Empty(t, string(rest))
	var ended *exec.ExitError
	require.True(t, errors.As(cmd.Wait(), &ended))
}

// whole reports whether the folder holds exactly what it lists.
func (s state) whole() bool {
	return !s.absent && s.listErr == nil && len(s.missing)+len(s.edited)+len(s.foreign) == 0
}
