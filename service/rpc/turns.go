package rpc

import (
	"context"
	"runtime"
)

// turns has room for each of the few large calls of a kind that are worked on at a time. The others wait, first come, first served.
type turns chan struct{}

func newTurns() turns { return make(turns, manyTurns()) }

// manyTurns is how many large calls of a kind are worked on at a time.
func manyTurns() int {
	const fewest, coresEach = 2, 4
	return max(fewest, runtime.GOMAXPROCS(0)/coresEach)
}

// take waits for a turn if the call is large. Whoever got one calls done.
func (t turns) take(ctx context.Context, large bool) (done func(), err error) {
	if !large {
		return func() {}, ctx.Err()
	}
	select {
	case t <- struct{}{}:
		return func() { <-t }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
