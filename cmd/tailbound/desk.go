package main

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service"
	"example.com/tailbound/service/rest"
)

// desk is how a desk command reaches the service.
type desk struct {
	server string
	tls    bool
}

func (d *desk) flags(c *cobra.Command) {
	c.Flags().StringVar(&d.server, "server", "", "ask the service at `HOST:PORT` instead of running it inside this process")
	c.Flags().BoolVar(&d.tls, "tls", false, "reach the server by TLS, its certificate checked against the roots of the system; without, in plaintext")
}

// open connects to the server, or runs the same service inside this process.
func (d *desk) open() (*client.Client, func() error, error) {
	if d.server != "" {
		security := client.Plaintext()
		if d.tls {
			security = client.TLS(nil)
		}
		c, err := client.Dial(d.server, security, client.WithUserAgent("tailbound-desk"))
		if err != nil {
			return nil, nil, usageError{err}
		}
		return c, c.Close, nil
	}
	if d.tls {
		return nil, nil, usageError{errors.New("--tls says how to reach a --server, and none is stated")}
	}
	conn, stop, err := service.Embedded(service.DefaultOptions())
	if err != nil {
		return nil, nil, err
	}
	return client.New(conn), stop, nil
}

// explain says which service could not be reached, in place of what gRPC says of its attempts.
func (d *desk) explain(err error) error {
	var e *client.Error
	if !client.IsUnavailable(err) || !errors.As(err, &e) {
		return err
	}
	cause := e.Message
	if i := strings.LastIndex(cause, "desc = "); i >= 0 {
		cause = cause[i+len("desc = "):]
	}
	return fmt.Errorf("the service at %s cannot be reached: %s", d.server, strings.Trim(cause, `"`))
}

// printJSON prints a message as one line, in the bytes that the REST face sends.
func printJSON(out io.Writer, m proto.Message) error {
	line, err := rest.AppendJSON(nil, m)
	if err != nil {
		return err
	}
	_, err = out.Write(append(line, '\n'))
	return err
}

// parseRule reads the name of a rule in any case, with or without the contract's prefix, with - for _.
func parseRule(name string) (tailboundv1.Rule, error) {
	value, err := parseEnum("RULE_", name, tailboundv1.Rule_value)
	return tailboundv1.Rule(value), err
}

// parseEnum reads the name of a value of an enum of the contract.
func parseEnum(prefix, name string, values map[string]int32) (int32, error) {
	upper := strings.ToUpper(strings.ReplaceAll(name, "-", "_"))
	if value, known := values[prefix+strings.TrimPrefix(upper, prefix)]; known && value != 0 {
		return value, nil
	}
	return 0, fmt.Errorf("%q is not known; accepted are %s", name, strings.Join(enumNames(prefix, values), ", "))
}

// enumNames lists the values of an enum as the command line writes them, in the order of the contract.
func enumNames(prefix string, values map[string]int32) []string {
	byValue := slices.SortedFunc(maps.Keys(values), func(a, b string) int { return int(values[a] - values[b]) })
	names := make([]string, 0, len(byValue))
	for _, name := range byValue {
		if values[name] != 0 {
			names = append(names, strings.ToLower(strings.ReplaceAll(strings.TrimPrefix(name, prefix), "_", "-")))
		}
	}
	return names
}

// completeWith offers fixed values to the shell.
func completeWith(c *cobra.Command, flag string, values ...string) {
	// It fails only for a flag that does not exist.
	if err := c.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(values, cobra.ShellCompDirectiveNoFileComp)); err != nil {
		panic(err)
	}
}

// noArgs refuses arguments.
func noArgs(c *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usageError{fmt.Errorf("%s takes no arguments; it got %q", c.CommandPath(), args[0])}
	}
	return nil
}

// someFiles asks for at least one file.
func someFiles(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return usageError{fmt.Errorf("%s needs a file of readings, or - for the standard input", c.CommandPath())}
	}
	return nil
}
