package main

import (
	"io"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/post/manual"
	"spotjig/post/record"
)

// recordSchema is the one schema that is not of a file to write by hand.
const recordSchema = "record"

// schemaNames are the files that there are schemas of.
func schemaNames() []string { return append(manual.SchemaNames(), recordSchema) }

func newSchemaCmd(run func(name string) error) *cobra.Command {
	return &cobra.Command{
		Use:   "schema " + strings.Join(schemaNames(), "|"),
		Short: "Print a file's JSON Schema, for editors that complete and check",
		Long: "schema prints what may stand in a job, machine or material file, or in record.json. It\n" +
			"comes from the tables of the readers: what a reader takes, its schema takes. A job that\n" +
			"\"spotjig new\" writes names spotjig-job.schema.json in its first line; an editor that\n" +
			"understands such lines completes keys and marks faults once that file lies beside it.",
		Example:   "  spotjig schema job > spotjig-job.schema.json\n  spotjig schema record",
		Args:      oneWord(schemaNames()),
		ValidArgs: schemaNames(),
		RunE:      func(_ *cobra.Command, args []string) error { return run(args[0]) },
	}
}

func runSchema(name string, out io.Writer) error {
	if name == recordSchema {
		return record.WriteSchema(out)
	}
	return manual.WriteSchema(out, name)
}
