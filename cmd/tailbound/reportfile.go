package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/reading"
)

// reporting says which report is written besides the answers.
type reporting struct {
	file, title string
}

func (r *reporting) flags(c *cobra.Command) {
	c.Flags().StringVar(&r.file, "report", "", "write a printable report to `FILE` as well: one page of HTML that holds all it needs")
	c.Flags().StringVar(&r.title, "report-title", "", "head the report with this `TITLE`")
}

// check refuses what could not be meant, before anything is asked.
func (r *reporting) check() error {
	switch {
	case r.file == standardInput:
		return usageError{errors.New("--report takes the name of a file; the standard output has the answers")}
	case r.file == "" && r.title != "":
		return usageError{errors.New("--report-title says how to head a --report, and none is asked for")}
	}
	return nil
}

// write asks for the report about groups and writes it.
func (r *reporting) write(ctx context.Context, asked *client.Client, groups []*reading.TabledGroup, ask question) error {
	if r.file == "" {
		return nil
	}
	request := &tailboundv1.RenderReportRequest{Title: r.title}
	for _, g := range groups {
		request.Groups = append(request.Groups, ask(g))
	}
	answer, err := asked.RenderReport(ctx, request)
	if err != nil {
		return fmt.Errorf("--report %s: %w", r.file, err)
	}
	return replaceFile(r.file, answer.GetDocument().GetContent())
}

// replaceFile puts content in place of a file at once, so that nobody ever finds half of it. What is no plain file, such as a
// pipe, is written to.
func replaceFile(name string, content []byte) (err error) {
	const mode = 0o644
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		return os.WriteFile(name, content, mode)
	}
	f, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	_, err = f.Write(content)
	if err = errors.Join(err, f.Chmod(mode), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
