package work

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"spotjig/layout/problem"
)

// Verify makes the set of a folder again, in memory, and compares every byte. held is the
// folder's files by name, nil for what is no plain file; stamp is the program's; again makes
// the set of a job that shares no sheets, as (*Order).Again does. The error is a problem.List
// of everything that differs, or ctx's.
func Verify(ctx context.Context, dir string, held map[string][]byte, stamp string, again func(*Order, context.Context) (Made, error)) (Made, error) {
	missing := func(name string) error {
		return problem.Problem{File: filepath.Join(dir, name), Code: "F031", Msg: "is missing, and nothing can be checked without it", Help: "make the folder again"}
	}
	var made Made
	var was string
	var err error
	if list, shared := held[ListName]; shared {
		made, was, err = sharedAgain(ctx, dir, list, func(name string) ([]byte, error) {
			if text, ok := held[filepath.Base(name)]; ok {
				return text, nil
			}
			return nil, missing(filepath.Base(name))
		})
	} else if text, ok := held[JobName]; ok {
		made, was, err = madeAgain(ctx, dir, text, again)
	} else {
		err = missing(JobName)
	}
	if err != nil {
		return made, err
	}
	return made, made.Compare(ctx, dir, held, Stamps{Folder: was, Program: stamp})
}

// madeAgain makes a set from its own job.yaml, with the stamp that it was made with, so that
// the stamp in the head of every file is no difference.
func madeAgain(ctx context.Context, dir string, text []byte, again func(*Order, context.Context) (Made, error)) (made Made, stamp string, err error) {
	name := filepath.Join(dir, JobName)
	order, err := Read(name, text, nil)
	if err != nil {
		return made, "", err
	}
	was := order.Made
	if was.Version == "" {
		return made, "", problem.Problem{File: name, Field: "made", Code: "F031", Msg: "does not say what the folder was made with",
			Help: "make the folder again"}
	}
	if made, err = again(order, ctx); err == nil {
		err = Refused(order.Name(), dir, made.Failures())
	}
	return made, was.Version, err
}

// Again makes the set of a job.yaml as it was made.
func (o *Order) Again(ctx context.Context) (Made, error) { return o.Make(ctx, optionsOf(o.Made)) }

// Make makes what the job is of: a test piece, of a test piece's own job.yaml, else a template.
func (o *Order) Make(ctx context.Context, opt Options) (Made, error) {
	if o.Made.TestPiece() {
		return o.BuildTestPiece(ctx, opt)
	}
	return o.Build(ctx, opt)
}

// sharedAgain makes again the jobs that share a folder's sheets.
func sharedAgain(ctx context.Context, dir string, list []byte, open Open) (made Made, stamp string, err error) {
	s, was, err := ReadSharing(filepath.Join(dir, ListName), list, open)
	if err != nil {
		return made, "", err
	}
	if made, err = s.Build(ctx); err == nil {
		err = cmp.Or(s.Err(), Refused(filepath.Join(dir, ListName), dir, made.Failures()))
	}
	return made, was.Version, err
}

// Stamps are those of the build that made a folder and of this program.
type Stamps struct{ Folder, Program string }

// Compare returns how the files held by a folder differ from those that its job makes with the
// folder's own stamp: nil when every byte is the same.
func (m Made) Compare(ctx context.Context, dir string, held map[string][]byte, by Stamps) error {
	list := m.Differences(held)
	for i := range list {
		list[i].File = filepath.Join(dir, problem.Printable(list[i].File))
	}
	if by.Folder != by.Program {
		judged, err := m.Judge(ctx, held)
		if err != nil {
			return err
		}
		return otherVersion(dir, by, list, judged)
	}
	if len(list) > 0 && vague(by.Program) {
		list[0].Help += "; or the folder is of another build: the stamp " + by.Program + " is that of every build without a commit of its own"
	}
	return list.Err()
}

// otherVersion is the error of a folder that says another version made it. There always is
// one, because whoever edits a folder may write any version into it. It says file by file
// what differs, and what the proofs find where they read the file.
func otherVersion(dir string, by Stamps, differ problem.List, judged []Judgement) error {
	msg := fmt.Sprintf("was made by spotjig %s, and this is %s: ", problem.Printable(by.Folder), by.Program)
	help := "check it with that version, or make it again: spotjig make " + filepath.Join(dir, JobName) + " -o DIR"
	if len(differ) == 0 {
		return problem.Problem{File: dir, Code: "F035", Msg: msg + "every byte but that stamp is what this version makes all the same", Help: help}
	}
	list := problem.List{problem.Problem{File: dir, Code: "F035", Msg: msg + "what differs may be the other version's or an edit's", Help: help}}
	for _, p := range differ {
		i := slices.IndexFunc(judged, func(j Judgement) bool { return filepath.Join(dir, j.Name) == p.File })
		if p.Code != "F033" || i < 0 {
			list = append(list, p)
			continue
		}
		p.Code, p.Help = "F035", "look at it before you use it"
		switch j := judged[i]; {
		case !j.Looked:
			p.Msg += "; no proof looks at the words of this file"
		case len(j.Failed) > 0:
			p.Code, p.Msg, p.Help = "F033", "does not cut or show what its job says: check "+j.Failed[0].ID+": "+j.Failed[0].Text, "do not run it; make the folder again"
		default:
			p.Msg += "; what it cuts or shows passes every proof, and no proof looks at its remarks"
		}
		list = append(list, p)
	}
	return list
}

// vague tells whether two different builds may bear this stamp: every changed checkout of a
// commit has the same one.
func vague(stamp string) bool {
	return strings.HasSuffix(stamp, ".changed") || strings.HasSuffix(stamp, "+unknown")
}
