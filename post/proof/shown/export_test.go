package shown

import "fmt"

// Texts returns what a PDF of ours prints, a line each, with the pages parted.
func Texts(data []byte) ([]string, error) {
	pages, err := readPDF(data)
	if err != nil {
		return nil, err
	}
	var out []string
	for i, p := range pages {
		out = append(out, fmt.Sprintf("---- page %d", i+1))
		for _, t := range p.texts {
			out = append(out, t.text)
		}
	}
	return out, nil
}
