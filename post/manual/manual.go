// Package manual explains what spotjig's files and messages use: codes of problems,
// keys of files, checks and the trade's words. Codes and keys come from the tables of
// those who report and read them, so that they cannot fall behind.
package manual

import (
	"cmp"
	"slices"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/dryrun"
)

// Kind is what an entry explains.
type Kind string

// The kinds, in the order that the reference prints them.
const (
	Key   Kind = "key"
	Check Kind = "check"
	Code  Kind = "code"
	Word  Kind = "word"
)

// Entry explains one code, key or check, or the words of one idea.
type Entry struct {
	Kind    Kind     `json:"kind"`
	Names   []string `json:"names"`
	Title   string   `json:"title,omitempty"`   // of a finding in a program, with its severity
	Text    string   `json:"text"`              // what it means, and what to do
	Form    string   `json:"form,omitempty"`    // of a key: what is wanted
	Limits  string   `json:"limits,omitempty"`  // of a key
	Values  []string `json:"values,omitempty"`  // of a key that is one of a few words
	Default string   `json:"default,omitempty"` // of a key
	Example string   `json:"example,omitempty"` // of a key: a value as it may stand in a file
}

// Entries lists everything there is, kind by kind: keys in the order of the files,
// the rest by name.
func Entries() []Entry {
	return slices.Concat(keys(), rows(Check, checksText), codes(), rows(Word, wordsText))
}

// codes are those of problems in files, then of findings in programs.
func codes() []Entry {
	var out []Entry
	for _, c := range problem.Codes() {
		out = append(out, Entry{Kind: Code, Names: []string{c.ID}, Text: c.Text})
	}
	for _, id := range dryrun.Codes() {
		text, _ := dryrun.Explain(id)
		title, text, _ := strings.Cut(text, "\n\n")
		out = append(out, Entry{Kind: Code, Names: []string{id}, Title: strings.TrimPrefix(title, id+" "), Text: strings.TrimSpace(text)})
	}
	return out
}

// keys joins what the readers say of each key with what people need to know of it.
func keys() []Entry {
	table := keyRows()
	var out []Entry
	for _, k := range readKeys() {
		r := table.of(k.Path)
		out = append(out, Entry{Kind: Key, Names: []string{k.Path}, Text: r.text, Form: k.Form, Limits: k.Limits, Values: k.Values, Default: cmp.Or(r.def, k.Default), Example: r.example})
	}
	return out
}

// readKeys are the keys of all files. Behind the sections machine and material, which have a
// reader of their own, stand that reader's keys.
func readKeys() []job.Key {
	own := machine.Keys()
	var out []job.Key
	for _, k := range job.Keys() {
		out = append(out, k)
		if k.Path != "material" && k.Path != "machine" {
			continue
		}
		for _, m := range own {
			if strings.HasPrefix(m.Path, k.Path+".") {
				out = append(out, m)
			}
		}
	}
	return out
}

// Find returns the entries of a word: a code in any case, a key by its path or by the
// end of it, a check with or without what it is about, a word of the trade. It returns
// none when nothing has that name.
func Find(word string) []Entry {
	word = strings.TrimSpace(word)
	var out []Entry
	for _, e := range Entries() {
		if slices.ContainsFunc(e.Names, func(name string) bool { return names(e.Kind, name, word) }) {
			out = append(out, e)
		}
	}
	return out
}

// names tells whether a person who writes the word may mean the name.
func names(kind Kind, name, word string) bool {
	switch kind {
	case Key:
		name, word = strings.ReplaceAll(name, "[]", ""), strings.TrimSuffix(strings.ReplaceAll(word, "[]", ""), ":")
		return strings.EqualFold(name, word) || len(word) < len(name) && strings.EqualFold(name[len(name)-len(word)-1:], "."+word)
	case Check:
		word, _, _ = strings.Cut(word, ":")
	}
	return strings.EqualFold(plain(name), plain(word))
}

// plain joins the words of a name as people write it: with blanks, hyphens or bars.
func plain(s string) string { return strings.NewReplacer("-", " ", "_", " ").Replace(s) }

// Near returns the names nearest to a word that Find does not know, one a kind at most.
func Near(word string) []string {
	var out []string
	all := Entries()
	for _, kind := range []Kind{Key, Check, Code, Word} {
		if n := problem.Nearest(word, namesOf(all, kind)); n != "" && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// Names lists every name of a kind that Find knows; of keys the last part alone as well.
func Names(kind Kind) []string { return namesOf(Entries(), kind) }

func namesOf(entries []Entry, kind Kind) []string {
	var out []string
	add := func(name string) {
		if !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for _, e := range entries {
		if e.Kind != kind {
			continue
		}
		for _, name := range e.Names {
			add(name)
			if kind == Key {
				add(last(name))
			}
		}
	}
	return out
}

// last is the last name of a key's path.
func last(key string) string {
	key = segments(key)
	return strings.NewReplacer(",", ".", "()", "[]").Replace(key[strings.LastIndex(key, "/")+1:])
}

// Words are the names of one word that Find knows.
func Words() []string {
	var out []string
	for _, kind := range []Kind{Key, Check, Code, Word} {
		for _, name := range Names(kind) {
			if !strings.ContainsAny(name, " []") {
				out = append(out, name)
			}
		}
	}
	return out
}
