package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"rushlight/pkg/desk"
)

// wrong makes a wrong call of an error, with the way to the help.
func wrong(cmd *cobra.Command, err error) error {
	return &desk.Problem{What: err.Error(), Hint: "see '" + cmd.CommandPath() + " --help'", Kind: desk.ErrUsage}
}

// wrongOption says in plain words what is wrong with an option.
func wrongOption(cmd *cobra.Command, err error) error {
	p := &desk.Problem{What: err.Error(), Hint: "see '" + cmd.CommandPath() + " --help'", Kind: desk.ErrUsage}
	var value *pflag.InvalidValueError
	var missing *pflag.ValueRequiredError
	var unknown *pflag.NotExistError
	switch {
	case errors.As(err, &value):
		want := map[string]string{"int": "a whole number", "int64": "a whole number", "float64": "a number", "bool": "true or false"}
		p.What = fmt.Sprintf("--%s %q: want %s", value.GetFlag().Name, value.GetValue(), want[value.GetFlag().Value.Type()])
	case errors.As(err, &missing):
		p.What = fmt.Sprintf("--%s wants a value", missing.GetFlag().Name)
	case errors.As(err, &unknown):
		letters := unknown.GetSpecifiedShortnames()
		if letters == "" {
			p.What = "unknown option --" + unknown.GetSpecifiedName()
		} else {
			p.What = "unknown option -" + letters
		}
		switch {
		case cmd.Name() == "find":
			p.Hint = "put the whole query in quotation marks, for example 'bridge -speaker:joss'"
		case letters != "" && strings.Contains("0123456789.", letters[:1]):
			p.What = fmt.Sprintf("-%s: nothing here is below 0", letters)
			if cmd.Flags().HasFlags() {
				p.Hint = "the value of an option stands behind an equals sign, for example --out=-0.5; " + p.Hint
			}
		}
	}
	return p
}

// args checks the number of arguments: least and most (-1 for any).
func args(least, most int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, a []string) error {
		switch {
		case len(a) < least:
			return wrong(cmd, fmt.Errorf("want %s", what))
		case most >= 0 && len(a) > most:
			return wrong(cmd, fmt.Errorf("%q is too much: want %s", a[most], what))
		}
		return nil
	}
}

// unknown says that there is no such command, and which are spelt nearly so.
func unknown(cmd *cobra.Command, name string) error {
	cmd.SuggestionsMinimumDistance = 2
	hint := "'rushlight --help' lists the commands"
	if near := cmd.SuggestionsFor(name); len(near) > 0 {
		hint = "did you mean " + strings.Join(near, " or ") + "?"
	}
	return &desk.Problem{What: fmt.Sprintf("unknown command %q", name), Hint: hint, Kind: desk.ErrUsage}
}

// wantsJSON tells whether a call asks for JSON, also one that couldn't be read
// to its end.
func wantsJSON(arguments []string) bool {
	if end := slices.Index(arguments, "--"); end >= 0 {
		arguments = arguments[:end]
	}
	return slices.Contains(arguments, "--json")
}
