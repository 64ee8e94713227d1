package rest

import (
	"net/http"
	"time"
)

// paced writes an answer in pieces and gives the client a while for each, so that a slow one gets all of a long report but one
// that reads nothing does not keep it in memory for ever.
type paced struct {
	http.ResponseWriter
	control *http.ResponseController
	idle    time.Duration
}

// paceWrites returns w as it is when there is no cap.
func paceWrites(w http.ResponseWriter, idle time.Duration) http.ResponseWriter {
	if idle <= 0 {
		return w
	}
	p := &paced{w, http.NewResponseController(w), idle}
	p.extend()
	return p
}

// extend also gets rid of the deadline that the answer before on the same connection has left. A connection without deadlines, as
// in a test, needs none.
func (p *paced) extend() { _ = p.control.SetWriteDeadline(time.Now().Add(p.idle)) }

// Write writes.
func (p *paced) Write(b []byte) (written int, err error) {
	const piece = 64 << 10
	for {
		p.extend()
		n, err := p.ResponseWriter.Write(b[:min(len(b), piece)])
		written += n
		if b = b[n:]; err != nil || len(b) == 0 {
			return written, err
		}
	}
}

// Unwrap is for http.ResponseController.
func (p *paced) Unwrap() http.ResponseWriter { return p.ResponseWriter }
