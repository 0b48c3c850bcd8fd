package shown

import (
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"html"
	"slices"
	"strconv"
	"strings"

	"spotjig/post/proof"

	"spotjig/layout/geom"
)

// A page as read back: its tags one by one, and of them the drawn shapes, where
// they are placed, the lists' texts, and what may act in it.

// errPage is wrapped by every error about a page as read back.
var errPage = errors.New("page as read")

// tag is one tag with its attributes and the text before it.
type tag struct {
	name  string
	end   bool // </name>
	attrs [][2]string
}

func (t tag) attr(key string) string {
	for _, a := range t.attrs {
		if a[0] == key {
			return a[1]
		}
	}
	return ""
}

// placed is one reference with its transform.
type placed struct{ ref, transform string }

// drawnSheet is one sheet's picture.
type drawnSheet struct {
	stock, bounds [4]string // x, y, width, height
	uses          []placed
}

// page is what was read of a page, or of a picture of its own.
type page struct {
	ids     map[string]bool
	paths   map[string][]string // by the id of what holds them, and their class
	strokes map[string][]placed // strokes in the store, by the letters that place them; transform is "x y"
	circles map[string][2]string
	marks   map[string]string // the id of each mark drawn, by its group
	parts   []string          // data-part of the store, in order
	jig     []placed
	sheets  []drawnSheet
	plans   []string            // references of pictures of the table, in order
	lists   map[string][]string // text of each item, by section
	told    strings.Builder     // all text
	data    string
	policy  string
	acting  []string // hashes of scripts and style sheets
}

// known are the elements that a page is made of; none of them loads anything.
func known(name string) bool {
	switch name {
	case "use", "path", "g", "text", "tspan", "rect", "circle", "svg", "metadata", "defs", "title", "desc",
		"html", "head", "meta", "style", "body", "a", "header", "h1", "h2", "p", "span", "nav", "ul", "ol", "li", "main", "section",
		"fieldset", "legend", "label", "input", "figure", "figcaption", "strong", "div", "select", "option", "button", "dl", "dt", "dd",
		"h3", "textarea", "code", "details", "summary", "table", "thead", "tbody", "tr", "th", "td", "footer", "script", "!DOCTYPE":
		return true
	}
	return false
}

// readPage goes through a page's tags.
func readPage(data string) (*page, error) {
	p := &page{ids: map[string]bool{}, marks: map[string]string{}, paths: map[string][]string{}, strokes: map[string][]placed{}, circles: map[string][2]string{}, lists: map[string][]string{}}
	w := pageWalk{page: p}
	for at := 0; at < len(data); {
		i := strings.IndexByte(data[at:], '<')
		if i < 0 {
			w.text(data[at:])
			break
		}
		w.text(data[at : at+i])
		at += i
		t, n, err := readTag(data[at:])
		if err != nil {
			return nil, err
		}
		at += n
		if (t.name == "script" || t.name == "style") && !t.end {
			j := strings.Index(data[at:], "</"+t.name)
			if j < 0 {
				return nil, fmt.Errorf("%w: a %s that does not end", errPage, t.name)
			}
			w.act(t, data[at:at+j])
			at += j
		}
		if err := w.tag(t); err != nil {
			return nil, err
		}
	}
	w.item("")
	return p, p.safe()
}

// readTag reads one tag from its < on.
func readTag(s string) (t tag, n int, err error) {
	fault := func() (tag, int, error) { return tag{}, 0, fmt.Errorf("%w: a broken tag %.40q", errPage, s) }
	t.attrs = make([][2]string, 0, 4)
	i := 1
	if t.end = i < len(s) && s[i] == '/'; t.end {
		i++
	}
	from := i
	for i < len(s) && s[i] != ' ' && s[i] != '>' && s[i] != '/' {
		i++
	}
	t.name = s[from:i]
	if !known(t.name) {
		return t, 0, fmt.Errorf("%w: an element %.20q", errPage, t.name)
	}
	for i < len(s) {
		switch {
		case s[i] == ' ' || s[i] == '\n' || s[i] == '/':
			i++
		case s[i] == '>':
			return t, i + 1, nil
		default:
			j := i
			for j < len(s) && s[j] != '=' && s[j] != ' ' && s[j] != '>' && s[j] != '/' {
				j++
			}
			key := s[i:j]
			val := ""
			if j+1 < len(s) && s[j] == '=' {
				if s[j+1] != '"' {
					return fault()
				}
				k := strings.IndexByte(s[j+2:], '"')
				if k < 0 {
					return fault()
				}
				val, j = s[j+2:j+2+k], j+3+k
			}
			if strings.HasPrefix(key, "on") || key == "src" || key == "style" || key == "href" && !strings.HasPrefix(val, "#") ||
				key == "xmlns" && val != "http://www.w3.org/2000/svg" {
				return t, 0, fmt.Errorf("%w: an attribute %s=%.40q", errPage, key, val)
			}
			t.attrs = append(t.attrs, [2]string{key, val})
			i = j
		}
	}
	return fault()
}

// pageWalk keeps where in the page the reader is.
type pageWalk struct {
	*page
	open    []string // ids of open g and section elements, "" without one
	section string
	words   []string // of the open item
	inItem  bool
	inHead  bool // in a head of a table
}

func (w *pageWalk) text(s string) {
	if strings.TrimSpace(s) == "" {
		return
	}
	s = html.UnescapeString(s)
	w.told.WriteString(s)
	w.told.WriteByte(' ')
	if w.inItem && !w.inHead {
		w.words = append(w.words, strings.Fields(s)...)
	}
}

// act notes a script or a style sheet.
func (w *pageWalk) act(t tag, body string) {
	if t.attr("type") == "application/json" {
		w.data = body
		return
	}
	h := sha256.Sum256([]byte(body))
	w.acting = append(w.acting, t.name+"-src 'sha256-"+base64.StdEncoding.EncodeToString(h[:])+"'")
}

// item ends the open item of a list and opens another one if it is named.
func (w *pageWalk) item(section string) {
	if w.inItem && len(w.words) > 0 {
		w.lists[w.section] = append(w.lists[w.section], strings.Join(w.words, " "))
	}
	w.words, w.inItem = nil, section != ""
}

// inside is the innermost id.
func (w *pageWalk) inside() string {
	for _, id := range slices.Backward(w.open) {
		if id != "" {
			return id
		}
	}
	return ""
}

func (w *pageWalk) tag(t tag) error {
	if id := t.attr("id"); id != "" && !t.end {
		if w.ids[id] {
			return fmt.Errorf("%w: two elements %q", errPage, id)
		}
		w.ids[id] = true
	}
	if m := t.attr("transform"); strings.HasPrefix(m, "matrix(") && m != "matrix(1 0 0 -1 0 0)" && m != "matrix(0 -1 -1 0 0 0)" {
		return fmt.Errorf("%w: a picture turned by %s", errPage, m)
	}
	switch t.name {
	case "meta":
		if t.attr("http-equiv") == "Content-Security-Policy" {
			w.policy += t.attr("content")
		}
	case "thead":
		w.inHead = !t.end
	case "section":
		w.item("")
		if !t.end {
			w.section = t.attr("id")
		}
	case "li", "tr", "details":
		w.row(t)
	case "g":
		w.group(t)
	case "rect", "circle", "path", "use":
		w.shape(t)
	}
	return nil
}

// row ends an item and begins the next one where the section's own kind of tag says so: a
// list's items are li, a table's rows tr, a budget folds away in details.
func (w *pageWalk) row(t tag) {
	want := map[string]string{"checks": "li", "cautions": "li", "at-table": "li", "marks": "tr", "budget": "details"}[w.section]
	if t.name != want {
		return
	}
	w.item("")
	if !t.end {
		w.item(w.section)
	}
}

func (w *pageWalk) group(t tag) {
	if t.end {
		if n := len(w.open); n > 0 {
			w.open = w.open[:n-1]
		}
		return
	}
	w.open = append(w.open, t.attr("id"))
	if m := t.attr("data-mark"); m != "" {
		w.marks[t.attr("id")] = html.UnescapeString(m)
	}
	if t.attr("class") == "part" {
		w.parts = append(w.parts, html.UnescapeString(t.attr("data-part")))
	}
}

func (w *pageWalk) shape(t tag) {
	in := w.inside()
	ref := t.attr("href")
	switch {
	case t.name == "rect" && t.attr("class") == "stock":
		w.sheets = append(w.sheets, drawnSheet{stock: rectOf(t)})
	case t.name == "rect" && t.attr("class") == "bounds" && len(w.sheets) > 0: // legends have one, too
		if s := &w.sheets[len(w.sheets)-1]; s.bounds == [4]string{} {
			s.bounds = rectOf(t)
		}
	case t.name == "circle":
		w.circles[in] = [2]string{t.attr("cx"), t.attr("cy")}
	case t.name == "path":
		if id := t.attr("id"); id != "" {
			in = id
		}
		w.paths[in+" "+t.attr("class")] = append(w.paths[in+" "+t.attr("class")], t.attr("d"))
	case t.name != "use":
	case in == "s-jig":
		w.jig = append(w.jig, placed{ref, t.attr("transform")})
	case strings.HasPrefix(ref, "#g"):
		w.strokes[in] = append(w.strokes[in], placed{ref, t.attr("x") + " " + t.attr("y")})
	case strings.HasPrefix(ref, "#s-"):
		w.plans = append(w.plans, ref)
	case len(w.sheets) > 0:
		s := &w.sheets[len(w.sheets)-1]
		s.uses = append(s.uses, placed{ref, t.attr("transform")})
	}
}

func rectOf(t tag) [4]string {
	return [4]string{t.attr("x"), t.attr("y"), t.attr("width"), t.attr("height")}
}

// safe refuses a page whose policy lets anything load, or lets another script or style sheet
// act than the ones that are in it. A page without a policy may hold no script.
func (p *page) safe() error {
	if p.policy == "" {
		for _, a := range p.acting {
			if strings.HasPrefix(a, "script") {
				return fmt.Errorf("%w: a script without a policy", errPage)
			}
		}
		return nil
	}
	allowed := strings.Split(p.policy, "; ")
	want := append([]string{"default-src 'none'", "base-uri 'none'", "form-action 'none'"}, p.acting...)
	for _, a := range allowed {
		if !slices.Contains(want, a) {
			return fmt.Errorf("%w: its policy lets %.40q", errPage, a)
		}
	}
	for _, a := range want {
		if !slices.Contains(allowed, a) {
			return fmt.Errorf("%w: its policy lacks %.40q", errPage, a)
		}
	}
	return nil
}

// readPath reads path data of moves, lines, arcs of up to a quarter and Z, absolute
// or relative (SVG 1.1, 8.3), as chains in their own numbers: there a sweep flag of 1
// is counter-clockwise.
func readPath(d string) ([]stroke, error) {
	fault := func() ([]stroke, error) { return nil, fmt.Errorf("%w: path data %.30q", errPage, d) }
	var out []stroke
	var at, begin geom.Point
	open := stroke{}
	end := func() {
		if len(open.chain) > 0 {
			out = append(out, open)
		}
		open = stroke{}
	}
	for i := 0; i < len(d); {
		op := d[i]
		i++
		n := 0
		switch op {
		case 'M', 'L', 'l':
			n = 2
		case 'A', 'a':
			n = 7
		case 'Z':
		default:
			return fault()
		}
		var v [7]float64
		for k := range n {
			for i < len(d) && d[i] == ' ' {
				i++
			}
			j := i
			for j < len(d) && (d[j] >= '0' && d[j] <= '9' || d[j] == '.' || j == i && d[j] == '-') {
				j++
			}
			f, ok := plainNumber([]byte(d[i:j]))
			if !ok {
				return fault()
			}
			v[k], i = f, j
		}
		to := begin
		if n > 0 {
			to = geom.Point{X: v[n-2], Y: v[n-1]}
		}
		if op == 'l' || op == 'a' {
			to = geom.Point{X: at.X + to.X, Y: at.Y + to.Y}
		}
		switch {
		case op == 'M':
			end()
			begin = to
		case op == 'A' || op == 'a':
			if proof.Dist(at, to) > dot {
				open.chain = append(open.chain, svgArc(at, to, v[0], v[4] == 1))
			}
		case proof.Dist(at, to) > dot:
			open.chain = append(open.chain, proof.LineOf(at, to))
		}
		at = to
		if op == 'Z' {
			end()
		}
	}
	end()
	return out, nil
}

// numbersOf reads the numbers of a transform's part, "translate" or "rotate".
func numbersOf(transform, part string) []float64 {
	_, rest, ok := strings.Cut(transform, part+"(")
	if !ok {
		return nil
	}
	list, _, _ := strings.Cut(rest, ")")
	var out []float64
	for _, f := range strings.Fields(list) {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil {
			return nil
		}
		out = append(out, v)
	}
	return out
}
