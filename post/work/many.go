package work

import (
	"reflect"
	"runtime"
	"runtime/debug"
	"strings"
	"sync"
	"sync/atomic"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/job"
)

// Bug is what a piece of work among several panicked with. The others go on; whoever gave
// the work out panics when all is told.
type Bug struct {
	Value any
	Stack []byte
}

// Error says where more stands.
func (b *Bug) Error() string { return "a bug of ours, told of below" }

// Each does n pieces of work, as many at a time as there are processors, and tells done how
// many are. The errors are those of each.
func Each(n int, do func(i int) error, done func(n int)) []error {
	errs := make([]error, n)
	one := func(i int) (err error) {
		defer func() {
			if r := recover(); r != nil {
				err = &Bug{r, debug.Stack()}
			}
		}()
		return do(i)
	}
	var next, ended atomic.Int64
	var wait sync.WaitGroup
	var telling sync.Mutex
	for range min(n, runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				errs[i] = one(i)
				telling.Lock()
				done(int(ended.Add(1)))
				telling.Unlock()
			}
		})
	}
	wait.Wait()
	return errs
}

// Brief is what is told of a job among several. The set itself is let go as soon as it is
// written, so that a thousand jobs take no more memory than a few.
type Brief struct {
	Name     string   `json:"name"`
	Letter   string   `json:"letter"` // where sheets are shared
	Pieces   int      `json:"pieces"`
	Sheets   int      `json:"sheets"`   // on which its pieces lie
	Time     float64  `json:"time_s"`   // of those on the machine, s; 0 for a shop
	Warnings int      `json:"warnings"` // checks that warn
	Serves   []string `json:"serves"`   // of its also_tables: yes or NO, and why

	table layout.Table
	want  job.Jig
	jig   jig.Jig // its range of length alone
	alike any     // what jigs must have in common to serve each other's tables
}

// Briefs tells of every job of a set.
func (m Made) Briefs() []Brief {
	var out []Brief
	for _, s := range m.Sets() {
		j := s.Job
		b := Brief{Name: j.Name, Letter: s.Letter, Pieces: len(s.Jig.Parts), Sheets: len(s.Sheets), Time: s.Time(), table: s.Table, want: j.Jig,
			jig: jig.Jig{LengthMin: s.Jig.LengthMin, LengthMax: s.Jig.LengthMax}}
		b.alike = []any{j.Games, j.Choices, j.Balls, j.House, j.Jig, j.Table.NoseHeight, j.Table.Undercut}
		for _, c := range s.Checks {
			switch {
			case strings.HasPrefix(c.ID, "serves:"):
				b.Serves = append(b.Serves, map[bool]string{true: "yes: ", false: "NO: "}[c.Verdict == jig.Pass]+c.Text)
			case c.Verdict == jig.Warn:
				b.Warnings++
			}
		}
		out = append(out, b)
	}
	return out
}

// serves reports whether one job's jig serves another's table: marked alike, by a jig of the
// same kind, and within its range.
func (b Brief) serves(other Brief) bool {
	return b.want.For != "this" && reflect.DeepEqual(b.alike, other.alike) && b.jig.Serves(b.table, b.want, other.table)
}

// Cover is a jig and the other jobs' tables that it serves, by their places.
type Cover struct {
	Jig    int
	Tables []int
}

// FewestJigs picks, of several jobs, those whose jigs serve the tables of all: first the one
// that serves most, then the one that serves most of what is left. It is not always the
// fewest there can be, and never more than one a job.
func FewestJigs(jobs []Brief) []Cover {
	var out []Cover
	served := make([]bool, len(jobs))
	for left := len(jobs); left > 0; {
		var best Cover
		most := 0
		for i, b := range jobs {
			if n, c := 0, (Cover{Jig: i}); !served[i] {
				for k, other := range jobs {
					if served[k] || k != i && !b.serves(other) {
						continue
					}
					if n++; k != i {
						c.Tables = append(c.Tables, k)
					}
				}
				if n > most {
					best, most = c, n
				}
			}
		}
		served[best.Jig] = true
		for _, k := range best.Tables {
			served[k] = true
		}
		out, left = append(out, best), left-most
	}
	return out
}
