package layout

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// A history is the readings of one table's markings, the oldest first, in a text file that
// is its owner's: to read, to correct and to keep with the table. Each marking begins with a
// line of three hyphens and what is lettered on the jig that it was made with; below it
// stand its readings, word for word as they were given:
//
//	--- 9 FT POOL 2541.0 X 1269.5 MM, 2026-11-20
//	by: A. Fitter
//	date: 2026-11-26
//	yellow: head 524.5 mm, right 423 mm
//
// Markings are only ever added at the end.

// Limits of a history.
const (
	historyBytesMax    = 1 << 20
	historyMarkingsMax = 500 // one a month for forty years
)

// markingLine begins every marking of a history.
const markingLine = "---"

// Marking is one marking of a history.
type Marking struct {
	Jig string // what is lettered on the jig it was made with; "" when nobody wrote it
	Readings
	text string
}

// ReadHistory reads a history, the oldest marking first. Faults come back as a problem.List
// with file, line and column; a history with a fault is not read in part.
func ReadHistory(r io.Reader, file string) ([]Marking, error) {
	data, err := io.ReadAll(io.LimitReader(r, historyBytesMax+1))
	if err != nil {
		return nil, fmt.Errorf("read history: %w", err)
	}
	p := readingsParser{file: file, seen: map[string]int{}}
	if len(data) > historyBytesMax {
		p.fault(0, 0, "", "S060", fmt.Sprintf("more than %d bytes", historyBytesMax), "begin a new history: rename this one and keep it")
		return nil, p.list.Err()
	}
	if !utf8.Valid(data) {
		p.fault(1+bytes.Count(validHead(data), []byte("\n")), 0, "", "S060", "not text in UTF-8", "save the file as plain text")
		return nil, p.list.Err()
	}
	var out []Marking
	end := func() {
		if len(out) > 0 {
			out[len(out)-1].Readings = p.out
			out[len(out)-1].text = strings.TrimSpace(out[len(out)-1].text)
		}
		p.out, p.seen = Readings{}, map[string]int{}
	}
	s := bufio.NewScanner(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))))
	s.Buffer(nil, historyBytesMax+1)
	for n := 1; s.Scan(); n++ {
		line := s.Text()
		if jig, ok := strings.CutPrefix(line, markingLine); ok {
			end()
			if len(out) == historyMarkingsMax {
				p.fault(n, 0, "", "S060", fmt.Sprintf("more than %d markings", historyMarkingsMax), "begin a new history: rename this one and keep it")
				break
			}
			out = append(out, Marking{Jig: strings.TrimSpace(jig)})
			continue
		}
		before, _, _ := strings.Cut(line, "#")
		switch {
		case len(out) > 0:
			out[len(out)-1].text += line + "\n"
			p.line(n, line)
		case strings.TrimSpace(before) != "":
			p.fault(n, 1, "", "S067", "readings before the first marking's line", "begin each marking with a line of three hyphens: "+markingLine)
		}
	}
	if err := s.Err(); err != nil {
		return nil, fmt.Errorf("read history: %w", err)
	}
	end()
	return out, p.list.Err()
}

// validHead is the part of a text before the first byte that is not UTF-8.
func validHead(data []byte) []byte {
	at := 0
	for at < len(data) {
		r, n := utf8.DecodeRune(data[at:])
		if r == utf8.RuneError && n == 1 {
			break
		}
		at += n
	}
	return data[:at]
}

// Kept is a marking as it is added to a history, and whether it is the history's last one
// already. The readings are a file that ReadReadings took.
func Kept(history []Marking, jig string, readings []byte) (entry string, already bool) {
	jig = strings.Join(strings.Fields(jig), " ")
	text := strings.TrimSpace(strings.ReplaceAll(string(bytes.TrimPrefix(readings, []byte("\ufeff"))), "\r\n", "\n"))
	if n := len(history); n > 0 && history[n-1].Jig == jig && history[n-1].text == text {
		return "", true
	}
	return strings.TrimRight(markingLine+" "+jig, " ") + "\n" + text + "\n", false
}

// CompareKept holds a marking of a history against the plan as it is today. Places that
// the plan does not have any more, or that are told of in another way than it asks for, are
// left out: the marking was made by the plan of its day.
func CompareKept(r Request, p Plan, m Marking) Comparison {
	places := namesOf(p)
	kept := m.Readings
	kept.places = nil
	for _, pr := range m.places {
		pl, fault := places.named(pr.id)
		if fault != nil {
			continue
		}
		at := pr.at
		pr.at = nil
		for _, k := range at {
			_, fault := places.named(k.of)
			if k.what == "from" && fault != nil || k.what == "radius" && pl.mark.Kind != Arc {
				continue
			}
			pr.at = append(pr.at, k)
		}
		kept.places = append(kept.places, pr)
	}
	c, err := Compare(r, p, kept, func(Mark) Allowed { return Allowed{} })
	if err != nil {
		panic("layout: internal error: a place that was found is not: " + err.Error())
	}
	return c
}

// JigAdvice says which jig to take for the next marking, by what is lettered on the one
// that belongs to the job now and on the one of the marking before; "" where that is not
// told.
func JigAdvice(before, now string) string {
	switch {
	case before == "" || now == "":
		return ""
	case before == now:
		return "the same as then: take the one lettered " + now
	}
	return "take the one lettered " + now + "; then it was the one lettered " + before + ", which serves today only if the range on its job sheet holds today's size"
}
