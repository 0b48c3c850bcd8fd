// Package web is the tool as a page: one HTML file with the program, compiled for the
// browser, inside it, and beside it what puts the page on a phone's home screen. The page
// loads nothing, sends nothing and shows what post/web/bridge answers.
package web

import (
	"crypto/sha256"
	_ "embed" // the page's parts travel in the program
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"html"
	"strings"
)

//go:embed page.html
var pageHTML string

//go:embed page.css
var pageStyle string

//go:embed page.js
var pageScript string

//go:embed worker.js
var workerScript string

//go:embed sw.js
var serviceScript string

// Program is what a page is made of beside its own parts.
type Program struct {
	Wasm    []byte // the program, compiled for js/wasm
	Support string // the script that comes with the Go compiler and runs it: wasm_exec.js
	Version string // as it stands in every file that the page makes
	Notice  string // terms of what is in it, which the page shows
}

// File is one file of the page's folder.
type File struct {
	Name string
	Data []byte
}

// The files of the folder.
const (
	PageName     = "index.html"
	ManifestName = "manifest.webmanifest"
	ServiceName  = "sw.js"
)

// Files returns the page's folder. Same program, same bytes.
func Files(p Program) ([]File, error) {
	page, err := page(p)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(page)
	service := strings.ReplaceAll(serviceScript, "{{STAMP}}", hex.EncodeToString(sum[:8]))
	return []File{{PageName, page}, {ManifestName, []byte(manifest)}, {ServiceName, []byte(service)}}, nil
}

// page puts the page together.
func page(p Program) ([]byte, error) {
	if strings.ContainsFunc(p.Version, func(c rune) bool {
		return !strings.ContainsRune("0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ.-+", c)
	}) {
		return nil, fmt.Errorf("web: version %q: a version is digits, letters, points, dashes and plus signs", p.Version)
	}
	worker := p.Support + "\n" + workerScript
	if low := strings.ToLower(worker); strings.Contains(low, "</script") || strings.Contains(low, "<!--") {
		return nil, fmt.Errorf("web: the compiler's support script cannot stand inside a page")
	}
	script := strings.ReplaceAll(pageScript, "{{VERSION}}", p.Version)
	// The parts are put in one after another, never looked through again.
	return []byte(strings.NewReplacer("{{POLICY}}", policy(script, pageStyle), "{{STYLE}}", pageStyle, "{{VERSION}}", p.Version, "{{NOTICE}}", html.EscapeString(strings.TrimSpace(p.Notice)),
		"{{SCRIPT}}", script, "{{WORKER}}", strings.ReplaceAll(worker, "{{SCRAMBLE}}", fmt.Sprint(scramble)), "{{PROGRAM}}", written(p.Wasm)).Replace(pageHTML)), nil
}

// scramble is a byte that a program has few of: by it zeros become letters, see written.
const scramble = 'F'

// written is the program as text that HTML leaves alone, a letter a byte: the letter's number,
// but for 256, exclusive-or scramble is the byte. What HTML would take for something else (NUL,
// CR, the "<" of a tag) stands 256 higher. A server's compression sees the bytes as they
// are, and beats any compressed form in base64, which it cannot compress again.
func written(wasm []byte) string {
	var b strings.Builder
	b.Grow(len(wasm) + len(wasm)/4)
	for _, c := range wasm {
		r := rune(c ^ scramble)
		if r == 0 || r == '\r' || r == '<' {
			r += 256
		}
		b.WriteRune(r)
	}
	return b.String()
}

// policy is what the page may do: run its own script and the program inside it, show its
// own pictures, and nothing else. It may connect to nobody. The manifest and the service
// worker are its own folder's.
func policy(script, style string) string {
	return fmt.Sprintf("default-src 'none'; script-src '%s' 'wasm-unsafe-eval'; style-src '%s'; img-src blob: data:; worker-src 'self' blob:; manifest-src 'self'; base-uri 'none'; form-action 'none'",
		digest(script), digest(style))
}

// digest is a source's hash as a content security policy spells it.
func digest(s string) string {
	h := sha256.Sum256([]byte(s))
	return "sha256-" + base64.StdEncoding.EncodeToString(h[:])
}

// manifest puts the page on a home screen. The icon is a spot on a line.
const manifest = `{
  "name": "spotjig",
  "short_name": "spotjig",
  "description": "From a cue table's measurements to its marks and a marking template.",
  "start_url": "./",
  "scope": "./",
  "display": "standalone",
  "background_color": "#fbfaf5",
  "theme_color": "#fbfaf5",
  "icons": [{
    "src": "data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 64 64'%3E%3Crect width='64' height='64' fill='%23e6eeea'/%3E%3Cpath d='M32 0V64' stroke='%238b1244' stroke-width='3'/%3E%3Ccircle cx='32' cy='32' r='11' fill='%23fbfaf5' stroke='%238b1244' stroke-width='4'/%3E%3C/svg%3E",
    "sizes": "any",
    "type": "image/svg+xml",
    "purpose": "any"
  }]
}
`
