package shown

import (
	"crypto/sha256"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/post"
	"spotjig/post/proof"
)

// SentFile is a file that goes to a shop, with what a drawing measures.
type SentFile struct {
	Name string
	Data []byte
	Work proof.Work
}

// AsAsked reads order.pdf back (id as-asked): what is ordered and how often, how much
// work each sheet is as the drawings themselves measure, the layers with their colours,
// the hash of every file that is sent, the cautions; all of it on as few pages as there
// are said to be. Figures are held to within half of their last digit.
func AsAsked(data []byte, set post.Set, files []SentFile, how Printing) jig.Check {
	c := jig.Check{ID: "as-asked", Verdict: jig.Pass}
	pages, err := readPDF(data)
	if err != nil {
		return proof.Failed(c, err.Error())
	}
	l := listing{set: set, sections: map[string][]string{}}
	if err := l.read(pages, how); err != nil {
		return proof.Failed(c, "order.pdf: "+err.Error())
	}
	n, fault := l.holds(l.asked(files))
	if fault != "" {
		return proof.Failed(c, "order.pdf: "+fault)
	}
	c.Text = fmt.Sprintf("order.pdf: %d figures and texts as in the drawings", n)
	return c
}

// asked is what the order must say.
func (l *listing) asked(files []SentFile) []said {
	s := l.set
	copies := max(1, s.Job.Copies)
	noun := " sheets"
	if copies == 1 {
		noun = " sheet"
	}
	ordered := said{name: "What is ordered", within: []item{itemOf(thickness(s.Material)...), itemOf("Quantity: ", plain{float64(copies), 0}, noun+" of every drawing")}}
	var rows []item
	var sum proof.Work
	count := 0
	files, again := l.toSend(files)
	for _, sh := range s.Sheets {
		name := fmt.Sprintf("sheet-%d.dxf", sh.N)
		if s.Job.DXF == "compensated" {
			name = fmt.Sprintf("sheet-%d-compensated.dxf", sh.N)
		}
		for _, f := range files {
			if f.Name != name {
				continue
			}
			sum = sum.Add(f.Work)
			count++
			rows = append(rows, itemOf(strconv.Itoa(sh.N)), itemOf(sides{sh.Width, sh.Height}), itemOf(strconv.Itoa(len(sh.Placed))))
			rows = append(append(rows, worked(f.Work)...), itemOf(name))
		}
	}
	sheets := said{name: "The sheets", items: [][]item{rows}, never: again}
	if count > 1 {
		sheets.items = append(sheets.items, append([]item{itemOf("all")}, worked(sum)...))
	}
	c := s.Job.Colours
	out := []said{ordered, sheets, {name: "Layers of the drawings, in the order in which they are cut", items: [][]item{
		each("LETTERING", "engraved as lines, not through", c.Lettering, "SCORE", "scored as lines, not through", c.Score,
			"OPENING", "cut through, before any outline", c.Opening, "OUTLINE", "cut through, last: it frees the piece", c.Outline)}}}
	if len(files) > 0 {
		var hashes []item
		for _, f := range files {
			hashes = append(hashes, itemOf(f.Name), itemOf(fmt.Sprintf("%x", sha256.Sum256(f.Data))))
		}
		out = append(out, said{name: "The files, by their SHA-256", items: [][]item{hashes}, never: again})
	}
	if texts := l.cautioned(); len(texts) > 0 {
		out = append(out, said{name: "Cautions that apply to this job", items: [][]item{each(texts...)}})
	}
	return out
}

// toSend are the files that the shop is sent, and the names of those that it has had with
// the first of two steps: of sheets on which nothing follows the thickness, where that is
// measured and the plates are ordered.
func (l *listing) toSend(files []SentFile) (now []SentFile, before []string) {
	fits := map[string]bool{}
	for _, p := range l.set.Pieces() {
		fits[p.ID] = p.FitsThickness()
	}
	had := map[string]bool{}
	for _, sh := range l.set.Sheets {
		first := l.set.Material.Measured && l.set.Material.Ordered == machine.OrderedPlates
		for _, on := range sh.Placed {
			first = first && !fits[on.ID]
		}
		had[strconv.Itoa(sh.N)] = first
	}
	for _, f := range files {
		n, _, _ := strings.Cut(strings.TrimPrefix(f.Name, "sheet-"), "-")
		n, _, _ = strings.Cut(n, ".")
		if had[n] {
			before = append(before, f.Name)
		} else {
			now = append(now, f)
		}
	}
	return now, before
}

func worked(w proof.Work) []item {
	return []item{itemOf(plain{w.Cut / 1000, 2}, " m"), itemOf(strconv.Itoa(w.Contours)), itemOf(plain{w.Score / 1000, 2}, " m"), itemOf(plain{w.Letter / 1000, 2}, " m")}
}

// cautioned are the cautions with their numbers.
func (l *listing) cautioned() []string {
	var texts []string
	for i, c := range l.set.Cautions {
		texts = append(texts, strconv.Itoa(i+1), paperShown(c))
	}
	return texts
}

// holds tells how many figures and texts the sections have that must be in them, and what
// is lacking.
func (l *listing) holds(wanted []said) (n int, fault string) {
	for _, s := range wanted {
		got, ok := l.sections[s.name]
		if !ok {
			return n, fmt.Sprintf("no section %q", s.name)
		}
		for _, w := range s.items {
			if !says(got, w) {
				return n, fmt.Sprintf("%q does not say: %.120s", s.name, lacking(got, w))
			}
			n += len(w)
		}
		for _, word := range s.never {
			if slices.ContainsFunc(got, func(line string) bool { return strings.Contains(line, word) }) {
				return n, fmt.Sprintf("%q says %q", s.name, word)
			}
		}
		for _, it := range s.within {
			if !it.within(got) {
				return n, fmt.Sprintf("%q does not say: %.120s", s.name, it.shown)
			}
			n++
		}
	}
	return n, ""
}

// takes is what the job sheet says all copies take: the sheets of each size with their
// price, the machine's time with its own, and what both come to. Each list stands for itself.
func (l *listing) takes() (out [][]item, never []string) {
	s := l.set
	copies := float64(max(1, s.Job.Copies))
	total, time := 0.0, 0.0
	used := map[string]float64{}
	price := map[string]float64{}
	for _, sh := range s.Sheets {
		time += sh.Time * copies
		k := fmt.Sprintf("%v %v", sh.Width, sh.Height)
		used[k] += copies
		for _, st := range s.Material.Sheets {
			same := st.Width == sh.Width && st.Height == sh.Height || st.Width == sh.Height && st.Height == sh.Width
			if same && price[k] == 0 {
				price[k] = st.Price
			}
		}
	}
	cost := func(v float64) item {
		total += v
		if v == 0 {
			return itemOf("-")
		}
		return itemOf(plain{v, 2})
	}
	seen := map[string]bool{}
	for _, sh := range s.Sheets {
		k := fmt.Sprintf("%v %v", sh.Width, sh.Height)
		if seen[k] {
			continue
		}
		seen[k] = true
		noun := " sheets"
		if used[k] == 1 {
			noun = " sheet"
		}
		out = append(out, []item{itemOf("sheet ", sides{sh.Width, sh.Height}, ", "+paperShown(sheetShown(s.Material))),
			itemOf(plain{used[k], 0}, noun), cost(price[k] * used[k])})
	}
	if time > 0 {
		total += time / 3600 * s.Machine.Rate
	}
	if total == 0 {
		return out, []string{"Together"}
	}
	return append(out, []item{itemOf("Together ", plain{total, 2}, ", in the money of the job's prices; what has no price is not in it.")}), nil
}

// hours is how long the machine takes over all copies, and what with: the operations as
// they were timed, and what is left of the whole for travel.
func (l *listing) hours() []item {
	var cuts, scores, letters, all float64
	for _, sh := range l.set.Sheets {
		k := float64(max(1, l.set.Job.Copies))
		for i := 1; i < len(sh.Laps); i += 2 {
			switch t := k * sh.Laps[i]; sh.Path.Ops[i/2].Layer.String() {
			case "SCORE":
				scores += t
			case "LETTERING":
				letters += t
			default:
				cuts += t
			}
		}
		all += k * sh.Time
	}
	travels := all - cuts - scores - letters
	if l.set.Machine.Process == machine.Shop {
		return nil
	}
	return []item{itemOf("machine time, setting up not counted ", lasting(all), ": cuts ", lasting(cuts), ", scores ", lasting(scores), ", lettering ", lasting(letters), ", travel ", lasting(travels))}
}

// sheetShown is which sheet of a rack it is: kind, colour, and a name that somebody gave it.
func sheetShown(m machine.Material) string {
	text := strings.TrimSuffix(m.Kind+", "+m.Colour, ", ")
	if m.Named() {
		text = fmt.Sprintf("%s (%s)", text, m.Name)
	}
	return text
}
