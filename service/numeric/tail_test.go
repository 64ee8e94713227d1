package numeric

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// randomTail draws a lower tail from the whole domain the package answers for: nu
// from 1 to 1e6, |delta| up to 2000, probabilities down to 1e-100.
func randomTail(r *rand.Rand, i int) tailIntegral {
	nu := math.Exp(r.Float64() * math.Log(1e6))
	if i%3 == 0 {
		nu = 1 + 20*r.Float64()
	}
	delta := 0.1 * math.Exp(r.Float64()*math.Log(2e4))
	if r.IntN(2) == 0 {
		delta = -delta
	}
	if i%4 == 0 {
		delta = r.NormFloat64() * 2 * math.Sqrt(nu)
	}
	t := (delta - 22*r.Float64()*r.Float64()) * math.Exp(r.NormFloat64()*4/math.Sqrt(2*nu))
	if t > delta {
		t = delta - 22*r.Float64()*r.Float64()
	}
	return tailIntegral{nu: nu, t: t, delta: delta, excess: t - delta}
}

// TestTailGrid measures the aliasing error of the grid against one 2.4 times
// finer, and that the even and odd nodes agree well enough never to need the
// refinement: the spacing is right beforehand, the check is only a guard.
func TestTailGrid(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	var worst, gap worstOf
	for i := range 20000 {
		q := randomTail(r, i)
		q.place()
		fine := q
		fine.spacing *= 0.41
		p := q.integrate().p
		if p < 1e-100 {
			continue
		}
		worst.see(relative(p, fine.integrate().p), q.nu, q.t, q.delta, p)
		even, odd := q.march(0, q.spacing, 0, 0)
		odd, even = q.march(-q.spacing, -q.spacing, odd, even)
		gap.see(math.Abs(even-odd)/(even+odd), q.nu, q.t, q.delta, p)
	}
	t.Logf("worst relative error %.2g at (nu, t, delta, p) = %v; even and odd differ by %.2g at %v",
		worst.value, worst.at, gap.value, gap.at)
	require.LessOrEqual(t, worst.value, 2e-13)
	require.LessOrEqual(t, gap.value, tailAgreement)
}

// TestTailRefinement starts from a spacing that is far too wide and expects the
// guard to notice and to repair it.
func TestTailRefinement(t *testing.T) {
	t.Parallel()
	for _, nu := range []float64{1, 5, 99} {
		q := tailIntegral{nu: nu, t: 2, delta: 3, excess: -1}
		q.place()
		want := q.integrate().p
		wide := tailIntegral{nu: nu, t: 2, delta: 3, excess: -1}
		wide.place()
		wide.spacing *= 3
		require.InEpsilon(t, want, wide.integrate().p, 1e-7, "nu %g", nu)
	}
}

// TestTailMoments checks the derivatives against differences.
func TestTailMoments(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ nu, t, delta float64 }{{5, 2, 3}, {19, -4, 1}, {1, 2, 6}, {999, 20, 22}} {
		m := tailSums(c.nu, c.t, c.delta, true)
		const h = 1e-4
		up, down := tailProbability(c.nu, c.t+h, c.delta), tailProbability(c.nu, c.t-h, c.delta)
		require.InEpsilon(t, (up-down)/(2*h), m.dp1, 1e-5)
		require.InEpsilon(t, (up+down-2*m.p)/(h*h), -m.ap2, 1e-4)
		up, down = tailProbability(c.nu, c.t, c.delta+h), tailProbability(c.nu, c.t, c.delta-h)
		require.InEpsilon(t, (up-down)/(2*h), -m.dp0, 1e-5)
		require.InEpsilon(t, (up+down-2*m.p)/(h*h), -m.ap0, 1e-4)
	}
}

// TestStirlingError checks both branches against math.Lgamma, which is good to a
// few 1e-16 of its value.
func TestStirlingError(t *testing.T) {
	t.Parallel()
	for _, a := range []float64{0.5, 0.75, 1, 2, 3.3, 7.999, 8, 8.001, 20, 100} {
		g, _ := math.Lgamma(a)
		want := g - (a-0.5)*math.Log(a) + a - lnSqrt2Pi
		require.InDelta(t, want, stirlingError(a), 1e-15*(4+math.Abs(g)+3*a*math.Log(1+a)), "a %g", a)
	}
	// r(1/2) = (1 - ln 2)/2 and r(1) = 1 - ln(2 pi)/2, exactly.
	require.InDelta(t, 0.5*(1-math.Ln2), stirlingError(0.5), 1e-14)
	require.InDelta(t, 1-lnSqrt2Pi, stirlingError(1), 1e-14)
}

// TestChiPointSeam checks both sides of the switch from the series.
func TestChiPointSeam(t *testing.T) {
	t.Parallel()
	for _, sign := range []float64{-1, 1} {
		u := sign * chiSeriesEnd
		s0, e0, g0 := chiPoint(math.Nextafter(u, 0))
		s1, e1, g1 := chiPoint(u)
		require.InEpsilon(t, s0, s1, 1e-15)
		require.InEpsilon(t, e0, e1, 1e-14)
		require.InEpsilon(t, g0, g1, 1e-14)
	}
	// g(0.01) and g(-0.2), mpmath 1.3.0.
	_, _, g := chiPoint(0.01)
	require.InEpsilon(t, -0.00010067001337790508428, g, 1e-15)
	_, _, g = chiPoint(-0.2)
	require.InEpsilon(t, -0.035160023017819654032, g, 1e-15)
}
