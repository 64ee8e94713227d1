package rest

import (
	"errors"
	"os"
	"sync"
)

// spool is a queue of bytes between the goroutine that makes answers and the one that writes them to the client. What does
// not fit into memory waits in a temporary file, so that a client which sends all before it reads anything never stalls:
// the server goes on reading, and its memory stays bounded. Past the file's limit put waits, which holds such a client back
// for good; the idle timeout then ends the stream.
type spool struct {
	mu    sync.Mutex
	moved sync.Cond
	// memory holds the older bytes, file the newer ones between readAt and writeAt.
	memory          []byte
	file            *os.File
	readAt, writeAt int64
	limits          spoolLimits
	ended           bool
}

type spoolLimits struct {
	memory, file int64
}

func newSpool(limits spoolLimits) *spool {
	s := &spool{limits: limits}
	s.moved.L = &s.mu
	return s
}

// errSpoolEnded says that nobody takes any more.
var errSpoolEnded = errors.New("rest: answers are no longer taken")

// put adds bytes; it waits while the file is full.
func (s *spool) put(b []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for !s.ended && s.writeAt > s.limits.file {
		s.moved.Wait()
	}
	if s.ended {
		return errSpoolEnded
	}
	defer s.moved.Broadcast()
	if s.writeAt == 0 && int64(len(s.memory)+len(b)) <= s.limits.memory {
		s.memory = append(s.memory, b...)
		return nil
	}
	return s.write(b)
}

func (s *spool) write(b []byte) (err error) {
	if s.file == nil {
		if s.file, err = os.CreateTemp("", "tailbound-answers-*"); err != nil {
			return err
		}
		// Where the system allows it the file has no name from here on, so that no crash can leave answers behind.
		_ = os.Remove(s.file.Name())
	}
	_, err = s.file.WriteAt(b, s.writeAt)
	s.writeAt += int64(len(b))
	return err
}

// take moves waiting bytes into buffer, whose contents are lost, and returns it. It waits for some; none means that the
// queue has ended and is empty. More says that there is something to take at once.
func (s *spool) take(buffer []byte) (b []byte, more bool, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for len(s.memory) == 0 && s.writeAt == 0 && !s.ended {
		s.moved.Wait()
	}
	defer s.moved.Broadcast()
	if len(s.memory) > 0 || s.writeAt == 0 {
		b, s.memory = s.memory, buffer[:0]
		return b, s.writeAt > 0, nil
	}
	b, err = s.read(buffer)
	return b, s.writeAt > 0, err
}

// read takes from the file, and empties it when all was taken.
func (s *spool) read(buffer []byte) ([]byte, error) {
	n := min(s.writeAt-s.readAt, s.limits.memory)
	if int64(cap(buffer)) < n {
		buffer = make([]byte, n)
	}
	if _, err := s.file.ReadAt(buffer[:n], s.readAt); err != nil {
		return nil, err
	}
	s.readAt += n
	if s.readAt < s.writeAt {
		return buffer[:n], nil
	}
	s.readAt, s.writeAt = 0, 0
	return buffer[:n], s.file.Truncate(0)
}

// end lets take return what is left and then nothing, and put fail.
func (s *spool) end() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.ended = true
	s.moved.Broadcast()
}

// close removes the file.
func (s *spool) close() error {
	if s.file == nil {
		return nil
	}
	err := s.file.Close()
	if left := os.Remove(s.file.Name()); left != nil && !errors.Is(left, os.ErrNotExist) {
		err = errors.Join(err, left)
	}
	return err
}
