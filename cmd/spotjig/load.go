package main

import (
	"errors"
	"io"
	"os"

	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/work"
)

// loaded is a job with the names of the files it was read from.
type loaded struct {
	*work.Order
	inputs *[]string
}

// loadJob reads the job at path, the embedded demo when path is empty.
func loadJob(path string) (loaded, error) {
	l := loaded{inputs: new([]string)}
	open := func(name string) ([]byte, error) {
		data, err := readInput(name)
		if err == nil {
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

// readInput reads a user's file. It stops one byte past the largest file that a
// reader takes, which that reader then refuses.
func readInput(name string) ([]byte, error) {
	data, err := readBounded(name)
	if err == nil {
		return data, nil
	}
	var path *os.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	return nil, problem.Problem{File: name, Code: "F001", Msg: "cannot be read: " + err.Error(), Help: "check the name and the permissions"}
}

func readBounded(name string) ([]byte, error) { return readUpTo(name, job.FileMax) }

// readUpTo reads a file, and one byte past the most.
func readUpTo(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, most+1))
}
