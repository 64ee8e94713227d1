package main

import (
	"io"
	"os"
	"time"

	"github.com/jedib0t/go-pretty/v6/progress"
	"golang.org/x/term"

	"example.com/tailbound/service/report"
)

// isTerminal says whether people watch what is written to w.
func isTerminal(w io.Writer) bool {
	f, isFile := w.(*os.File)
	return isFile && term.IsTerminal(int(f.Fd()))
}

// widthOf is the width of the terminal behind w, and a fixed one for everything else, so that a file is the same everywhere.
func widthOf(w io.Writer) int {
	if f, isFile := w.(*os.File); isFile {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil && width > 0 {
			return width
		}
	}
	return report.DefaultWidth
}

// bar shows how far many groups have come; nil shows nothing.
type bar struct {
	writer  progress.Writer
	tracker *progress.Tracker
}

// manyGroups is from how many groups on a wait is long enough to be shown.
const manyGroups = 500

// newProgress returns a bar on w, or nil when nobody watches or there is little to watch.
func newProgress(w io.Writer, groups int) *bar {
	if groups < manyGroups || !isTerminal(w) {
		return nil
	}
	b := &bar{progress.NewWriter(), &progress.Tracker{Message: "assessing", Total: int64(groups)}}
	b.writer.SetOutputWriter(w)
	b.writer.SetAutoStop(false)
	b.writer.SetUpdateFrequency(100 * time.Millisecond)
	b.writer.Style().Visibility.Value = true
	b.writer.AppendTracker(b.tracker)
	go b.writer.Render()
	return b
}

func (b *bar) step() {
	if b != nil {
		b.tracker.Increment(1)
	}
}

// end draws the bar a last time and waits for it, so that nothing is written into the middle of it.
func (b *bar) end() {
	if b == nil {
		return
	}
	b.tracker.MarkAsDone()
	b.writer.Stop()
	for b.writer.IsRenderInProgress() {
		time.Sleep(time.Millisecond)
	}
}
