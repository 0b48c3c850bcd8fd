package work

import (
	"encoding/json"
	"errors"

	"spotjig/post"
)

// SetReport is what a command reports of a set: parts of its record, unchanged.
type SetReport struct {
	Folder  string          `json:"folder"`
	Version json.RawMessage `json:"version"`
	Sheets  json.RawMessage `json:"sheets"`
	Checks  json.RawMessage `json:"checks"`
	Files   json.RawMessage `json:"files"`
}

// Report reads the record of a set; where several jobs share sheets, that of the job of.
func (m Made) Report(folder string, of post.Set) (SetReport, error) {
	s := SetReport{Folder: folder}
	for _, f := range m.Files {
		if f.Name == of.FileName(RecordName) {
			err := json.Unmarshal(f.Data, &s)
			s.Folder = folder
			return s, err
		}
	}
	return s, errors.New("internal error: a set without a record")
}
