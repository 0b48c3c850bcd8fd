// Command archive packs a folder so that the same files give the same bytes: entries in
// the order of their names, of one time, of nobody, with one of two modes.
//
//	go run .ci/archive/main.go FOLDER ARCHIVE SECONDS
//
// ARCHIVE ends in .tar.gz or .zip; SECONDS is the time of all entries, since 1970.
package main

import (
	"archive/tar"
	"archive/zip"
	"compress/gzip"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

func main() {
	if len(os.Args) != 4 {
		fmt.Fprintln(os.Stderr, "usage: archive FOLDER ARCHIVE SECONDS")
		os.Exit(2)
	}
	if err := pack(os.Args[1], os.Args[2], os.Args[3]); err != nil {
		fmt.Fprintln(os.Stderr, "archive:", err)
		os.Exit(1)
	}
}

// entry is one file or folder; the name of a folder ends in a stroke.
type entry struct {
	name string
	mode fs.FileMode
	data []byte
}

func pack(folder, archive, seconds string) error {
	s, err := strconv.ParseInt(seconds, 10, 64)
	if err != nil {
		return err
	}
	list, err := entries(folder)
	if err != nil {
		return err
	}
	out, err := os.Create(archive)
	if err != nil {
		return err
	}
	write := writeTar
	if strings.HasSuffix(archive, ".zip") {
		write = writeZip
	}
	return errors.Join(write(out, list, time.Unix(s, 0).UTC()), out.Close())
}

// entries lists a folder, itself first, in the order of the names.
func entries(folder string) ([]entry, error) {
	var out []entry
	err := filepath.WalkDir(folder, func(at string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(folder, at)
		if err != nil {
			return err
		}
		e := entry{name: path.Join(filepath.Base(folder), filepath.ToSlash(rel)), mode: 0o644}
		info, err := d.Info()
		if err != nil {
			return err
		}
		switch {
		case d.IsDir():
			e.name, e.mode = e.name+"/", fs.ModeDir|0o755
		case !d.Type().IsRegular():
			return fmt.Errorf("%s is no plain file", at)
		case info.Mode()&0o100 != 0:
			e.mode = 0o755
		}
		if !d.IsDir() {
			if e.data, err = os.ReadFile(at); err != nil {
				return err
			}
		}
		out = append(out, e)
		return nil
	})
	return out, err
}

func writeTar(f *os.File, list []entry, when time.Time) error {
	z, err := gzip.NewWriterLevel(f, gzip.BestCompression)
	if err != nil {
		return err
	}
	w := tar.NewWriter(z)
	for _, e := range list {
		h := &tar.Header{Name: e.name, Mode: int64(e.mode.Perm()), Size: int64(len(e.data)), ModTime: when, Typeflag: tar.TypeReg, Format: tar.FormatPAX}
		if e.mode.IsDir() {
			h.Typeflag = tar.TypeDir
		}
		if err := w.WriteHeader(h); err != nil {
			return err
		}
		if _, err := w.Write(e.data); err != nil {
			return err
		}
	}
	return errors.Join(w.Close(), z.Close())
}

func writeZip(f *os.File, list []entry, when time.Time) error {
	w := zip.NewWriter(f)
	for _, e := range list {
		h := &zip.FileHeader{Name: e.name, Method: zip.Deflate, Modified: when}
		h.SetMode(e.mode)
		if e.mode.IsDir() {
			h.Method = zip.Store
		}
		to, err := w.CreateHeader(h)
		if err != nil {
			return err
		}
		if _, err := to.Write(e.data); err != nil {
			return err
		}
	}
	return w.Close()
}
