package rest

import (
	"io"
	"sync"
	"time"
)

// watchdog acts once when nothing was touched for a while. Its methods may be called on nil and at the same time.
type watchdog struct {
	mu      sync.Mutex
	after   time.Duration
	timer   *time.Timer
	stopped bool
}

// newWatchdog returns nil, which never acts, when after is 0.
func newWatchdog(after time.Duration, act func()) *watchdog {
	if after <= 0 {
		return nil
	}
	w := &watchdog{after: after}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.timer = time.AfterFunc(after, func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		if !w.stopped {
			act()
		}
	})
	return w
}

// touch starts the wait anew.
func (w *watchdog) touch() {
	if w == nil {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if !w.stopped {
		w.timer.Reset(w.after)
	}
}

// stop returns when act has run or never will, so that it cannot reach into what comes after.
func (w *watchdog) stop() {
	if w == nil {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.stopped = true
	w.timer.Stop()
}

// touching touches a watchdog whenever something was read.
type touching struct {
	io.Reader
	watch *watchdog
}

// Read reads.
func (t touching) Read(p []byte) (int, error) {
	n, err := t.Reader.Read(p)
	if n > 0 {
		t.watch.touch()
	}
	return n, err
}
