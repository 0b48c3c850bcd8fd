package work

import (
	"fmt"
	"os"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// mayRefuse are the reasons for which a job may be refused, each with a job that is: a
// material that the process must not or cannot cut, a sheet thicker than the blade goes
// through or too thin to stand upright, a piece that no cut brings under the bed's size. A
// ball that does not fit between the marks is a warning: it refuses nothing.
var mayRefuse = []struct {
	code, why, rest string
	also            func(cause string) bool // what the code alone does not tell; nil for nothing
}{
	{"M020", "a material that a beam must not cut", "material: {like: vinyl-0.3}\n", nil},
	{"M021", "a sheet that lets the beam through", "material: {colour: clear}\nmachine: {like: laser-600x400, wavelength: 450 nm}\n", nil},
	{"M022", "a material that a blade cannot cut", "material: {like: cast-acrylic-3}\nmachine: knife-1200x600\n", nil},
	{"M023", "a sheet thicker than the blade cuts", "material: {like: card-1, thickness: 1.1}\nmachine: knife-1200x600\n", nil},
	{"J097", "a sheet too thin for fins", "material: {like: card-1}\n", nil},
	{"J097", "a sheet too thin for shoes", "jig: {settings: yes}\nmaterial: {like: cast-acrylic-3}\n", nil},
	{"J090", "a piece that no cut brings under the bed's size", "machine: {process: laser, travel: {x: 100, y: 100}, margin: 6}\n", overBed},
}

// overBed reports whether a piece is wider than the bed is either way: cuts go across
// members and make none narrower.
func overBed(cause string) bool {
	var w, h, bedW, bedH float64
	_, sizes, _ := strings.Cut(cause, " needs ")
	n, err := fmt.Sscanf(sizes, "%g x %g mm and the usable bed is %g x %g mm", &w, &h, &bedW, &bedH)
	return err == nil && n == 4 && min(w, h) > min(bedW, bedH)
}

// allowed is why a job may be refused for a cause, "" where it may not.
func allowed(cause string) string {
	code, _, _ := strings.Cut(cause, ":")
	for _, r := range mayRefuse {
		if r.code == code && (r.also == nil || r.also(cause)) {
			return r.why
		}
	}
	return ""
}

// Every reason for which a generated job may be refused is one that refuses a job.
func TestAllowedRefusals(t *testing.T) {
	for _, r := range mayRefuse {
		cause := becameOf(sane("games: [pool]\n" + r.rest))
		code, _, _ := strings.Cut(cause, ":")
		assert.Equal(t, r.code, code, "%s: %s", r.why, cause)
		assert.NotEmpty(t, allowed(cause), cause)
	}
	// A joint without a place is no piece over the bed's size.
	assert.Empty(t, allowed("J090: the joint between H1 and H8 needs 86.4 x 34.0 mm and the usable bed is 550.0 x 550.0 mm: no place"))
	assert.Empty(t, allowed("made"))
}

// kindOfCause is the code or the check of a cause's first line, and of J090 the reason.
func kindOfCause(cause string) string {
	first, _, _ := strings.Cut(cause, "\n")
	code, msg, _ := strings.Cut(first, ": ")
	if _, reason, ok := strings.Cut(msg, ": "); ok && code == "J090" {
		return code + " " + reason
	}
	return code
}

// TestGeneratedJobsAreMade makes jobs drawn over everything that a job may say. None may
// be refused but for the reasons listed. Every run makes 40 of them, picked because they
// are quick to make: hardly any forty in a row of the first 200 take less. They are drawn
// as all others are, every game is among them, and more than half of them come to files; of every second what is
// cut is made, and no page, papers and record. SPOTJIG_ALL=1 makes the first 200, whole;
// SPOTJIG_JOBS=N makes that many from the first, or with SPOTJIG_SEED=S from that one on, so
// that a longer run goes in steps. The share refused is printed by code with -v.
func TestGeneratedJobsAreMade(t *testing.T) {
	n, from := 40, uint64(68)
	if os.Getenv("SPOTJIG_ALL") != "" {
		n, from = 200, 1
	}
	if v, err := strconv.Atoi(os.Getenv("SPOTJIG_JOBS")); err == nil {
		n, from = v, 1
	}
	if v, err := strconv.ParseUint(os.Getenv("SPOTJIG_SEED"), 10, 64); err == nil {
		from = v
	}
	if testing.Short() {
		n = 2
	}
	became := make([]string, n)
	const together = 8
	for at := 0; at < n; at += together {
		require.NoError(t, eachOf(min(together, n-at), func(i int) error {
			make := becameOf
			if i%2 == 1 {
				make = cutOf
			}
			became[at+i] = make(generatedJob(from + uint64(at+i)))
			return nil
		}))
	}
	count := map[string]int{}
	for i, b := range became {
		kind := kindOfCause(b)
		if count[kind]++; b == "made" {
			continue
		}
		if allowed(b) == "" {
			assert.Fail(t, fmt.Sprintf("job %d is refused: %s\n%s", from+uint64(i), b, generatedJob(from+uint64(i))))
		}
	}
	var kinds []string
	for k := range count {
		kinds = append(kinds, k)
	}
	sort.Slice(kinds, func(i, k int) bool {
		return count[kinds[i]] > count[kinds[k]] || count[kinds[i]] == count[kinds[k]] && kinds[i] < kinds[k]
	})
	for _, k := range kinds {
		t.Logf("%4d of %d: %s", count[k], n, k)
	}
}
