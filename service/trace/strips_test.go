package trace

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func begin() time.Time { return time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC) }

// picture is what becomes of values logged every interval, NaN for none.
func picture(values []float64, interval time.Duration) Picture {
	var c Strips
	for i, v := range values {
		if !math.IsNaN(v) {
			c.Add(Seen{Start: begin().Add(time.Duration(i) * interval), End: begin().Add(time.Duration(i+1) * interval), Value: v})
		}
	}
	return c.Picture()
}

func TestStripsKeepEveryExtreme(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(0, 100), 1, 3000).Draw(t, "values")
		p := picture(values, time.Second)
		require.LessOrEqual(t, len(p.Strips), mostStrips)
		require.Equal(t, begin(), p.From)
		require.False(t, p.To.Before(begin().Add(time.Duration(len(values))*time.Second)))
		lowest, highest := math.Inf(1), math.Inf(-1)
		for _, c := range p.Strips {
			lowest, highest = min(lowest, c.Lowest), max(highest, c.Highest)
		}
		want := [2]float64{math.Inf(1), math.Inf(-1)}
		for _, v := range values {
			want[0], want[1] = min(want[0], v), max(want[1], v)
		}
		require.Equal(t, want, [2]float64{lowest, highest})
		require.Empty(t, p.Gaps)
	})
}

// The rolling mean of a trace whose strips are its rows is the plain mean of the last 15 of them.
func TestRollingMeanOfMinutes(t *testing.T) {
	t.Parallel()
	values := make([]float64, 400)
	for i := range values {
		values[i] = 10 + 5*math.Sin(float64(i)/7)
	}
	p := picture(values, time.Minute)
	require.Len(t, p.Strips, 400)
	require.True(t, math.IsNaN(p.Strips[10].Rolling), "11 of 15 minutes are not enough")
	require.InDelta(t, mean(values[:12]), p.Strips[11].Rolling, 1e-9)
	for i := 14; i < len(values); i++ {
		require.InDelta(t, mean(values[i-14:i+1]), p.Strips[i].Rolling, 1e-9)
	}
}

func mean(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}

func TestGapsAreKept(t *testing.T) {
	t.Parallel()
	values := make([]float64, 2000)
	for i := range values {
		values[i] = 1
		if i >= 600 && i < 900 || i%2 == 1 && i > 1000 {
			values[i] = math.NaN()
		}
	}
	p := picture(values, time.Second)
	require.Equal(t, [][2]time.Time{{begin().Add(600 * time.Second), begin().Add(900 * time.Second)}}, p.Gaps)
	require.True(t, math.IsNaN(p.Strips[90].Highest))
	require.Empty(t, new(Strips).Picture().Strips)
}

func TestLongLeapsAreKept(t *testing.T) {
	t.Parallel()
	var c Strips
	first, last := time.Date(1700, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2200, 1, 1, 0, 0, 0, 0, time.UTC)
	c.Add(Seen{Start: first, End: first.Add(time.Millisecond), Value: 1})
	c.Add(Seen{Start: last, End: last.Add(time.Millisecond), Value: 2})
	p := c.Picture()
	require.Len(t, p.Gaps, 1)
	require.InDelta(t, 2.0, p.Strips[len(p.Strips)-1].Highest, 0)
}

func TestWatchShowsWhatIsAveraged(t *testing.T) {
	t.Parallel()
	var seen []Seen
	r, err := NewReducer(Options{
		Channels: []Channel{{FullScale: math.Inf(1)}, {FullScale: math.Inf(1)}}, Interval: time.Minute, WarmUp: time.Minute,
		ClockJumps: []ClockJump{{Row: 2, Ahead: time.Hour}}, Watch: func(s Seen) { seen = append(seen, s) },
	})
	require.NoError(t, err)
	for i, v := range []float64{9, 1, 2, math.NaN()} {
		at := begin().Add(time.Duration(i) * time.Minute)
		if i >= 2 {
			at = at.Add(time.Hour)
		}
		require.NoError(t, r.Add(at, []float64{v, 10}))
	}
	_, err = r.Finish()
	require.NoError(t, err)
	at := func(minutes int) time.Time { return begin().Add(time.Duration(minutes) * time.Minute) }
	require.Equal(t, []Seen{
		{0, at(1), at(2), 1},
		{1, at(1), at(2), 10},
		{0, at(2), at(3), 2},
		{1, at(2), at(3), 10},
		{1, at(3), at(4), 10},
	}, seen)
}
