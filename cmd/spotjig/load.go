package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"spotjig/cmd/spotjig/folder"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/work"
)

// loaded is a job with the names of the files it was read from.
type loaded struct {
	*work.Order
	inputs *[]string
}

// standardInput is the name that stands for it where a file is read. A file of that name
// is "./-".
const standardInput = "-"

// reading reads the files that a command line names.
type reading struct {
	in   io.Reader
	used bool // standard input has been read
}

// file reads a user's file. It stops one byte past the largest file that a
// reader takes, which that reader then refuses.
func (r *reading) file(name string) ([]byte, error) {
	data, err := r.upTo(name, job.FileMax)
	if err == nil {
		return data, nil
	}
	var usage usageError
	if errors.As(err, &usage) {
		return nil, err
	}
	return nil, problem.Problem{File: name, Code: "F001", Msg: "cannot be read: " + folder.Reason(err), Help: "check the name and the permissions"}
}

// upTo reads a file or standard input, and one byte past the most.
func (r *reading) upTo(name string, most int64) ([]byte, error) {
	if name != standardInput {
		return readUpTo(name, most)
	}
	in, err := r.standard()
	if err != nil {
		return nil, err
	}
	return io.ReadAll(io.LimitReader(in, most+1))
}

// standard is standard input, which can be read once.
func (r *reading) standard() (io.Reader, error) {
	if r.used || r.in == nil {
		return nil, usageError{fmt.Errorf("%q stands for standard input, which can be read once", standardInput)}
	}
	r.used = true
	return r.in, nil
}

// loadJob reads the job at path, the embedded demo when path is empty.
func loadJob(path string) (loaded, error) { return new(reading).job(path) }

// job reads the job at path, the embedded demo when path is empty.
func (r *reading) job(path string) (loaded, error) {
	l := loaded{inputs: new([]string)}
	open := func(name string) ([]byte, error) {
		data, err := r.file(name)
		if err == nil && name != standardInput {
			*l.inputs = append(*l.inputs, name)
		}
		return data, err
	}
	var source []byte
	if path != "" {
		var err error
		if source, err = open(path); err != nil {
			return l, err
		}
	}
	var err error
	l.Order, err = work.Read(path, source, open)
	return l, err
}

// readUpTo reads a file, and one byte past the most.
func readUpTo(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, most+1))
}

// folderName refuses standard input and output where a folder is wanted.
func folderName(flag, name string) error {
	if name != standardInput {
		return nil
	}
	return usageError{fmt.Errorf("%s%s: a set is a folder of files, which no single stream holds: name a folder (one called - is ./-)", flag, name)}
}
