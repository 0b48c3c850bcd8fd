package main

import (
	"io"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/job"
	"spotjig/post/manual"
)

// shells are those that a completion script can be written for.
func shells() []string { return []string{"bash", "zsh", "fish", "powershell"} }

func newCompletionCmd(run func(root *cobra.Command, shell string) error) *cobra.Command {
	return &cobra.Command{
		Use:   "completion " + strings.Join(shells(), "|"),
		Short: "Print the script that makes a shell complete spotjig's words",
		Long: "completion prints a script for your shell. Once it has been read, the tab key completes\n" +
			"commands, flags, games, machines, materials, sizes, formats and whatever explain knows.\n" +
			"In bash it needs the package bash-completion.",
		Example: "  source <(spotjig completion bash)          # this session; put the line into ~/.bashrc to keep it\n" +
			"  spotjig completion zsh > \"${fpath[1]}/_spotjig\"\n" +
			"  spotjig completion fish > ~/.config/fish/completions/spotjig.fish\n" +
			"  spotjig completion powershell | Out-String | Invoke-Expression",
		Args:      oneWord(shells()),
		ValidArgs: shells(),
		RunE:      func(c *cobra.Command, args []string) error { return run(c.Root(), args[0]) },
	}
}

// runCompletion prints the script for a shell of shells().
func runCompletion(root *cobra.Command, shell string, out io.Writer) error {
	switch shell {
	case "bash":
		return root.GenBashCompletionV2(out, true)
	case "zsh":
		return root.GenZshCompletion(out)
	case "fish":
		return root.GenFishCompletion(out, true)
	}
	return root.GenPowerShellCompletionWithDesc(out)
}

// completer proposes what may stand next on the command line.
type completer = cobra.CompletionFunc

// complete teaches every command what its arguments and flags may be. The shells'
// scripts, which "spotjig completion" prints, ask the program itself, so that names
// are those of the same tables as the readers'.
func complete(commands []*cobra.Command) {
	args := map[string]completer{
		"new": files("yaml", "yml"), "marks": first(files("yaml", "yml")), "balls": first(files("yaml", "yml")),
		"make": files("yaml", "yml"), "coupon": first(files("yaml", "yml")), "kerf": files("txt"),
		"dryrun": files("nc", "ngc", "gcode", "tap", "txt"), "verify": folders, "marked": jobThenReadings,
		"explain": words(manual.Words),
	}
	flags := map[string]completer{
		"machine": orFiles(machine.ProfileNames, "yaml", "yml"), "material": orFiles(machine.MaterialNames, "yaml", "yml"),
		"size": words(sizeWords), "games": list(gameWords), "out": folders,
		"paper": words(func() []string { return []string{"a4", "letter"} }), "proof-of": words(func() []string { return []string{"template", "marks"} }),
		"explain": words(manual.Words), "stock": words(nil), "start": words(nil), "length": words(nil), "width": words(nil),
	}
	for _, c := range commands {
		if c.Name() == "new" { // takes built-in machines only
			setFlag(c, "machine", words(machine.ProfileNames))
		}
		if f, ok := args[c.Name()]; ok {
			c.ValidArgsFunction = f
		}
		for name, f := range flags {
			setFlag(c, name, f)
		}
	}
}

// setFlag gives a command's flag its completer, where it has that flag and the flag has none.
func setFlag(c *cobra.Command, name string, f completer) {
	if c.Flags().Lookup(name) == nil {
		return
	}
	if _, has := c.GetFlagCompletionFunc(name); has {
		return
	}
	if err := c.RegisterFlagCompletionFunc(name, f); err != nil {
		panic("complete: internal error: " + err.Error())
	}
}

// words proposes a table's names; nil: nothing, not even files.
func words(table func() []string) completer {
	return func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		if table == nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return table(), cobra.ShellCompDirectiveNoFileComp
	}
}

// files proposes files with these endings.
func files(endings ...string) completer {
	return func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return endings, cobra.ShellCompDirectiveFilterFileExt
	}
}

// orFiles proposes a table's names while one of them can be meant, files otherwise.
func orFiles(table func() []string, endings ...string) completer {
	return func(_ *cobra.Command, _ []string, begun string) ([]string, cobra.ShellCompDirective) {
		for _, name := range table() {
			if strings.HasPrefix(name, begun) {
				return table(), cobra.ShellCompDirectiveNoFileComp
			}
		}
		return endings, cobra.ShellCompDirectiveFilterFileExt
	}
}

// list proposes the names that a list with commas does not hold yet, each behind what
// is written.
func list(table func() []string) completer {
	return func(_ *cobra.Command, _ []string, begun string) ([]string, cobra.ShellCompDirective) {
		done := begun[:strings.LastIndex(begun, ",")+1]
		var out []string
		for _, name := range table() {
			if !strings.Contains(","+done, ","+name+",") {
				out = append(out, done+name)
			}
		}
		return out, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
	}
}

// first proposes for the first argument only.
func first(f completer) completer {
	return func(c *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		if len(args) > 0 {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return f(c, args, begun)
	}
}

func folders(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return nil, cobra.ShellCompDirectiveFilterDirs
}

func jobThenReadings(c *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return files("yaml", "yml")(c, args, begun)
	}
	return files("txt")(c, args, begun)
}

func sizeWords() []string {
	var out []string
	for _, s := range job.Sizes() {
		out = append(out, s.Name)
	}
	return out
}

func gameWords() []string {
	var out []string
	for _, g := range layout.Games() {
		out = append(out, g.ID)
	}
	return out
}
