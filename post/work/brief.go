package work

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/summary"
)

// Brief is the summary of one job among several. The set itself is dropped as soon as it is
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
	jig   jig.Jig // with its range of length only
	alike any     // what jigs must have in common to serve each other's tables
}

// Briefs returns the summary of every job of a set.
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

// serves reports whether one job's jig serves another's table: both want the same marks and
// the same jig, and the other table is within the jig's range.
func (b Brief) serves(other Brief) bool {
	return b.want.For != job.ForThis && reflect.DeepEqual(b.alike, other.alike) && b.jig.Serves(b.table, b.want, other.table)
}

// Cover is a jig and the other jobs' tables that it serves, each by its index.
type Cover struct {
	Jig    int
	Tables []int
}

// FewestJigs picks jobs whose jigs together serve the tables of all: first the jig that serves
// most tables, then the one that serves most of those left. A smaller choice may exist, because
// the pick is greedy.
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

// Ordered is a job among several, by its file, and what came of it.
type Ordered struct {
	Job, Folder string
	Err         error
	Brief
}

// Written is one folder that was written, and the indices of its jobs.
type Written struct {
	Folder        string
	Jobs          []int
	Files, Sheets int
	Time          float64 // s
}

// ReportOfMany is the report of several jobs.
type ReportOfMany struct {
	Folder   string         `json:"folder"`
	Jobs     []ReportOfOne  `json:"jobs"`
	Jigs     []ReportOfJig  `json:"jigs"` // the jigs that serve the tables of all jobs
	Problems []problem.Told `json:"problems"`
}

// ReportOfOne is a job among several.
type ReportOfOne struct {
	Job    string `json:"job"`
	Folder string `json:"folder"`
	Made   bool   `json:"made"`
	Brief
}

// ReportOfJig is a jig and whose tables it serves.
type ReportOfJig struct {
	Job    string   `json:"job"`
	Serves []string `json:"serves"` // jobs whose tables it serves besides its own
}

// ManyReport reports several jobs that were made into a folder.
func ManyReport(dir string, jobs []Ordered) ReportOfMany {
	rep := ReportOfMany{Folder: dir, Jobs: []ReportOfOne{}, Jigs: []ReportOfJig{}, Problems: []problem.Told{}}
	for _, j := range jobs {
		j.Serves = append([]string{}, j.Serves...)
		rep.Jobs = append(rep.Jobs, ReportOfOne{j.Job, j.Folder, j.Err == nil, j.Brief})
		if j.Err != nil {
			for _, p := range problem.Tell(j.Err) {
				p.File = cmp.Or(p.File, j.Job)
				rep.Problems = append(rep.Problems, p)
			}
		}
	}
	jigs, made := fewest(jobs)
	for _, c := range jigs {
		rep.Jigs = append(rep.Jigs, ReportOfJig{made[c.Jig].Job, servedBy(c, made)})
	}
	return rep
}

// servedBy names the jobs whose tables a jig serves besides its own.
func servedBy(c Cover, made []Ordered) []string {
	names := make([]string, len(c.Tables))
	for i, k := range c.Tables {
		names[i] = made[k].Job
	}
	return names
}

// fewest are the jigs that serve the tables of all jobs that were made, by their indices in
// the second result, which is those jobs.
func fewest(jobs []Ordered) ([]Cover, []Ordered) {
	made := slices.DeleteFunc(slices.Clone(jobs), func(j Ordered) bool { return j.Err != nil })
	briefs := make([]Brief, len(made))
	for i, j := range made {
		briefs[i] = j.Brief
	}
	return FewestJigs(briefs), made
}

// NotMade says why jobs were not made. What stopped all that were to share a folder is told
// once, with the names of them all.
func NotMade(failed []Ordered) string {
	var order []string
	by := map[string][]string{}
	for _, j := range failed {
		why := problem.Text(j.Err)
		if by[why] == nil {
			order = append(order, why)
		}
		by[why] = append(by[why], j.Job)
	}
	var b strings.Builder
	for _, why := range order {
		names, was := by[why], "was"
		if len(names) > 1 {
			was = "were"
		}
		fmt.Fprintf(&b, "spotjig: %s %s not made:\n%v\n", strings.Join(names, ", "), was, why)
	}
	return b.String()
}

// SummariseMany prints a line or two about every job that was made, then about all together.
func SummariseMany(w summary.Reader, jobs []Ordered, sets []Written, dir string) {
	files, sheets, time, made := 0, 0, 0.0, 0
	for _, s := range sets {
		if len(s.Jobs) > 1 {
			text := fmt.Sprintf("%s on %s", figure.Count(len(s.Jobs), "job"), figure.Count(s.Sheets, "shared sheet"))
			if s.Time > 0 {
				text += ", " + figure.Time(s.Time)
			}
			w.Paragraph(s.Folder+"  ", text)
		}
		for _, k := range s.Jobs {
			summariseOne(w, jobs[k])
		}
		files, sheets, time, made = files+s.Files, sheets+s.Sheets, time+s.Time, made+len(s.Jobs)
	}
	text := fmt.Sprintf("wrote %s of %s to %s: %s", figure.Count(files, "file"), figure.Count(made, "job"), dir, figure.Count(sheets, "sheet"))
	if time > 0 {
		text += ", about " + figure.Time(time) + " (estimate, +-20 %)"
	}
	w.Paragraph("", text)
	if jigs, all := fewest(jobs); len(jigs) < len(all) {
		w.Paragraph("  jigs     ", fmt.Sprintf("%s the tables of all %d jobs:", map[bool]string{true: "one jig serves", false: fmt.Sprint(len(jigs)) + " jigs serve"}[len(jigs) == 1], len(all)))
		for _, c := range jigs {
			text := "that of " + all[c.Jig].Job
			if also := servedBy(c, all); len(also) > 0 {
				text += ", and serves " + strings.Join(also, ", ")
			}
			w.Paragraph("           ", text)
		}
		w.Paragraph("           ", "make those alone, and no other need be cut")
	}
	if made > 0 {
		w.Paragraph("  next     ", "read each job-sheet.pdf before its sheets are cut: what waits, warnings and cautions stand there")
	}
}

func summariseOne(w summary.Reader, j Ordered) {
	lead := j.Folder + "  "
	text := fmt.Sprintf("%s: %s on %s", j.Name, figure.Count(j.Pieces, "piece"), figure.Count(j.Sheets, "sheet"))
	if j.Letter != "" {
		lead, text = fmt.Sprintf("  %-8s ", j.Letter), j.Job+", "+text
	} else if j.Time > 0 {
		text += ", " + figure.Time(j.Time)
	}
	if j.Warnings > 0 {
		text += ", " + figure.Count(j.Warnings, "warning")
	}
	w.Paragraph(lead, text)
	for _, s := range j.Serves {
		w.Paragraph("  serves   ", s)
	}
}
