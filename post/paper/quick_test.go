package paper_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"spotjig/post/paper"
)

func TestQuick(t *testing.T) {
	f, err := os.Create("/tmp/v/job-sheet.pdf")
	require.NoError(t, err)
	defer f.Close()
	require.NoError(t, paper.WriteJobSheet(f, demoSet(), paper.Options{}))
}
