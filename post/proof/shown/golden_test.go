package shown_test

import (
	"context"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/proof/shown"
	"spotjig/post/work"
)

var update = flag.Bool("update", false, "write the golden files anew")

// The words of the job sheet, line by line as they are printed: for a beam, a blade, folded
// card and a shop; film's with SPOTJIG_ALL=1. What changes shows in the commit; -update writes
// all anew.
func TestJobSheetGolden(t *testing.T) {
	for _, name := range []string{"", "knife-film-1200x600", "knife-card", "shop-9ft"} {
		if testing.Short() && strings.HasPrefix(name, "knife") {
			continue // a blade's whole job
		}
		if os.Getenv("SPOTJIG_ALL") == "" && name == "knife-film-1200x600" && !*update {
			continue // the longest of them
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var source []byte
			file := ""
			if name != "" {
				file = filepath.Join("../../../testdata/jobs", name+".yaml")
				var err error
				source, err = os.ReadFile(file)
				require.NoError(t, err)
			}
			o, err := work.Read(file, source, os.ReadFile)
			require.NoError(t, err)
			made, err := o.Build(context.Background(), work.Options{Version: "0.0.0", Paper: "a4", ProofOf: "template"})
			require.NoError(t, err)
			var texts []string
			for _, f := range made.Files {
				if f.Name == "job-sheet.pdf" {
					texts, err = shown.Texts(f.Data)
					require.NoError(t, err)
				}
			}
			got := strings.Join(texts, "\n") + "\n"
			if name == "" {
				name = "demo"
			}
			golden := filepath.Join("../../../testdata/golden", "job-sheet-"+name+".txt")
			if *update {
				require.NoError(t, os.MkdirAll(filepath.Dir(golden), 0o755))
				require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err, "go test ./post/proof/shown -run Golden -update")
			assert.Equal(t, string(want), got)
		})
	}
}
