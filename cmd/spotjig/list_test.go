package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestListRefusesWhatIsNoTopic(t *testing.T) {
	c := newListCmd(func(listOptions) error { return nil })
	c.SilenceErrors, c.SilenceUsage = true, true
	c.SetArgs([]string{"plans"})
	assert.Error(t, c.Execute())
}
