// Package named finds the files that a command line names by folders and patterns, always in
// the same order.
package named

import (
	"errors"
	"os"
	"path/filepath"
	"sort"
	"strings"

	"spotjig/layout/problem"
)

// IsFolder tells whether a folder has that name.
func IsFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}

// Jobs are a folder's .yaml and .yml files.
func Jobs(folder string) ([]string, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, problem.Problem{File: folder, Code: "F001", Msg: "cannot be read: " + err.Error(), Help: "check the name and the permissions"}
	}
	var names []string
	for _, e := range entries {
		if ext := strings.ToLower(filepath.Ext(e.Name())); !e.IsDir() && (ext == ".yaml" || ext == ".yml") {
			names = append(names, filepath.Join(folder, e.Name()))
		}
	}
	if len(names) == 0 {
		return nil, problem.Problem{File: folder, Code: "F001", Msg: "no job file in it, which ends in .yaml or .yml", Help: "name a job file, or a folder that holds some"}
	}
	return names, nil
}

// Programs turns folders and patterns into the files they stand for, in order;
// what stands for nothing stays as it is, to be reported.
func Programs(args []string) []string {
	var out []string
	for _, a := range args {
		if info, err := os.Stat(a); err == nil {
			if info.IsDir() {
				out = append(out, programsIn(a)...)
			} else {
				out = append(out, a)
			}
			continue
		}
		found, err := filepath.Glob(a)
		if err != nil || len(found) == 0 {
			out = append(out, a)
			continue
		}
		for _, f := range found {
			if info, err := os.Stat(f); err != nil || !info.IsDir() {
				out = append(out, f)
			}
		}
	}
	return out
}

// programSuffixes are the names that programs go by (common practice).
const programSuffixes = " .nc .ngc .gc .gcode .cnc .tap .g .ncc "

// programsIn lists the programs in a folder, not those in folders inside it. A folder
// without any stands for itself, to be reported.
func programsIn(dir string) []string {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return []string{dir}
	}
	var out []string
	for _, e := range entries {
		if ext := strings.ToLower(filepath.Ext(e.Name())); !e.IsDir() && ext != "" && strings.Contains(programSuffixes, " "+ext+" ") {
			out = append(out, filepath.Join(dir, e.Name()))
		}
	}
	sort.Strings(out)
	if len(out) == 0 {
		return []string{dir}
	}
	return out
}

// ErrNoPrograms: a folder was named in which no program is.
var ErrNoPrograms = errors.New("a folder without programs (" + strings.TrimSpace(programSuffixes) + ")")
