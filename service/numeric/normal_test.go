package numeric

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Rows of this file: mpmath 1.3.0, 50 digits, for the doubles nearest to the
// decimals.

func TestNormalQuantile(t *testing.T) {
	t.Parallel()
	for _, r := range []struct{ p, want float64 }{
		{1e-300, -37.047096299361199237},
		{1e-100, -21.273453560965324294},
		{1e-20, -9.2623400897984075796},
		{1e-08, -5.6120012441747887279},
		{0.0001, -3.7190164854556805523},
		{0.01, -2.3263478740408410931},
		{0.02425, -1.9729610513118848376},
		{0.05, -1.644853626951472688},
		{0.1, -1.2815515655446004353},
		{0.2, -0.84162123357291416552},
		{0.249, -0.67763996487799570257},
		{0.25, -0.6744897501960817432},
		{0.251, -0.67134621487780519812},
		{0.4, -0.25334710313579974132},
		{0.499, -0.0025066308995717662317},
		{0.5000001, 2.5066282733116483012e-7},
		{0.6, 0.25334710313579974132},
	} {
		require.InEpsilon(t, r.want, NormalQuantile(r.p), 1e-15, "p %g", r.p)
		require.InEpsilon(t, -r.want, NormalQuantileUpper(r.p), 1e-15, "q %g", r.p)
	}
	// Handbook values, from memory: the 97.5 % and 95 % points.
	require.InDelta(t, 1.959964, NormalQuantile(0.975), 5e-7)
	require.InDelta(t, 1.644854, NormalQuantile(0.95), 5e-7)
}

func TestNormalSpecialCases(t *testing.T) {
	t.Parallel()
	inf := math.Inf(1)
	for _, p := range []float64{-0.1, 1.1, math.NaN()} {
		require.True(t, math.IsNaN(NormalQuantile(p)))
		require.True(t, math.IsNaN(NormalQuantileUpper(p)))
	}
	require.Equal(t, []float64{-inf, inf, 0, inf, -inf}, []float64{
		NormalQuantile(0), NormalQuantile(1), NormalQuantile(0.5), NormalQuantileUpper(0), NormalQuantileUpper(1),
	})
	require.InEpsilon(t, -38.467405617144346251, NormalQuantile(5e-324), 1e-15) // The smallest number, mpmath.
	require.Equal(t, []float64{-inf, 0, -inf, 0}, []float64{
		LogNormalCDF(-inf), LogNormalCDF(inf), LogNormalDifference(1, 1), LogNormalDifference(-inf, inf),
	})
	require.True(t, math.IsNaN(LogNormalDifference(2, 1)))
	require.True(t, math.IsNaN(LogNormalDifference(math.NaN(), 1)))
	require.True(t, math.IsNaN(LogNormalCDF(math.NaN())))
	require.InEpsilon(t, 1/math.Sqrt(2*math.Pi), NormalDensity(0), 1e-15)
}

func TestLogNormalCDF(t *testing.T) {
	t.Parallel()
	for _, r := range []struct{ x, want float64 }{
		{-100000.0, -5000000012.4318639983},
		{-1000.0, -500007.82669481218431},
		{-200.0, -20006.217280898190402},
		{-40.0, -804.60844201375378817},
		{-38.0, -726.5572160188201301},
		{-30.0, -454.32124395634319711},
		{-10.0, -53.231285150512470578},
		{-5.0, -15.064998393988725736},
		{-2.0, -3.7831843336820319488},
		{-1.0, -1.8410216450092635058},
		{-0.5, -1.1759117615936186089},
		{0.0, -0.69314718055994530942},
		{0.5, -0.36894641528865639307},
		{1.0, -0.17275377902344988953},
		{2.0, -0.023012909328963488465},
		{5.0, -2.8665161296376359338e-7},
		{8.0, -6.2209605742717860585e-16},
		{10.0, -7.619853024160526066e-24},
		{20.0, -2.7536241186062336951e-89},
		{37.0, -5.7255712225245768227e-300},
	} {
		require.InEpsilon(t, r.want, LogNormalCDF(r.x), 1e-15, "x %g", r.x)
	}
	// Both sides of the changes of formula at -1 and 0.
	for _, x := range []float64{-1, 0} {
		require.InEpsilon(t, LogNormalCDF(math.Nextafter(x, -9)), LogNormalCDF(math.Nextafter(x, 9)), 1e-15)
	}
}

func TestLogNormalDifference(t *testing.T) {
	t.Parallel()
	for _, r := range []struct{ a, b, want float64 }{
		{-1, 1, -0.38171514630212607227},
		{-0.1, 0.2, -2.1278963696652225094},
		{0, 1e-08, -19.33961927715703821},
		{5, 5.0000001, -29.537034431358671259},
		{-3, -2.9, -7.5695680138074889096},
		{10, 12, -53.231285150745609211},
		{-12, -10, -53.231285150745609211},
		{30, 30.5, -454.32124422188508635},
		{-40, -39, -765.08315656437754441},
		{50, 51, -1254.8313611394199013},
		{8, 40, -35.013437159914549896},
		{-8, 8, -1.2441921148543575987e-15},
		{-20, 3, -0.0013508099647481937988},
		{1, 1.5, -2.3876196688239346461},
		{-0.75, -0.25, -1.7448778569559151016},
		{2, 2.2, -4.7277125303065364719},
		{-100, -99.999, -5007.7762773510783507},
	} {
		require.InEpsilon(t, r.want, LogNormalDifference(r.a, r.b), 1e-14, "a %g b %g", r.a, r.b)
		require.InEpsilon(t, r.want, LogNormalDifference(-r.b, -r.a), 1e-14, "mirrored a %g b %g", r.a, r.b)
	}
	inf := math.Inf(1)
	require.InEpsilon(t, LogNormalCDF(-30), LogNormalDifference(-inf, -30), 1e-15)
	require.InEpsilon(t, LogNormalCDF(-30), LogNormalDifference(30, inf), 1e-15)
	require.InEpsilon(t, LogNormalCDF(2), LogNormalDifference(-inf, 2), 1e-14)
}

// TestLogNormalDifferenceSeam crosses from the integrated narrow interval to the
// subtracted wide one.
func TestLogNormalDifferenceSeam(t *testing.T) {
	t.Parallel()
	for _, mid := range []float64{-30, -8, -2, -0.3, 0} {
		half := 0.5 / (1 + math.Abs(mid))
		narrow := LogNormalDifference(mid-half*(1-1e-12), mid+half*(1-1e-12))
		wide := LogNormalDifference(mid-half*(1+1e-12), mid+half*(1+1e-12))
		require.InDelta(t, narrow, wide, 1e-11, "mid %g", mid)
	}
}

func TestMillsRatio(t *testing.T) {
	t.Parallel()
	for _, r := range []struct{ x, want float64 }{
		{0.0, 1.2533141373155002512},
		{0.07, 1.1862740760762839727},
		{0.5, 0.87636445645369234673},
		{1.0, 0.65567954241879847154},
		{1.9, 0.43764692878712088236},
		{3.0, 0.30459029871010329573},
		{4.5, 0.21257058044203179023},
		{5.65685424949238, 0.17170335704604526313},
		{7.0, 0.1401041834530502416},
		{10.0, 0.099028596471731921395},
		{21.5, 0.046411653900902833065},
		{37.0, 0.027007327965128336063},
		{60.0, 0.016662040889713753848},
		{300.0, 0.0033332962975307956158},
		{100000.0, 9.9999999990000000003e-6},
	} {
		require.InEpsilon(t, r.want, millsRatio(r.x), 1e-15, "x %g", r.x)
	}
	var worst worstOf
	for x := 0.0; x < 37; x += 0.0037 {
		// math.Erfc gets x/sqrt(2) rounded, which is worth x² units.
		e := relative(millsRatio(x), 0.5*math.Erfc(x/math.Sqrt2)/NormalDensity(x))
		worst.see(e/(1+0.25*x*x), x)
	}
	t.Logf("worst difference from math.Erfc %.2g (1+x²/4) at %v", worst.value, worst.at)
	require.LessOrEqual(t, worst.value, 1e-15)
}

func TestNormalProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-37, 37).Draw(t, "x")
		require.InDelta(t, NormalCDF(x), NormalSurvival(-x), 0)
		require.InDelta(t, 1, NormalCDF(x)+NormalSurvival(x), 3e-16)
		// One rounding of Phi is 1/(x Mills) roundings of x.
		require.InDelta(t, -math.Abs(x), NormalQuantile(NormalCDF(-math.Abs(x))), 4e-15*(1+math.Abs(x)))
		require.InDelta(t, LogNormalDifference(math.Inf(-1), x), LogNormalCDF(x), 1e-15*(1+x*x))
		y := rapid.Float64Range(-37, 37).Draw(t, "y")
		a, b := math.Min(x, y), math.Max(x, y)
		require.LessOrEqual(t, LogNormalDifference(a, b), LogNormalCDF(b)+1e-12)
		require.LessOrEqual(t, NormalCDF(a), NormalCDF(b))
	})
}

func BenchmarkNormal(b *testing.B) {
	b.Run("quantile", func(b *testing.B) {
		for b.Loop() {
			sink = NormalQuantile(0.05)
		}
	})
	b.Run("logCDF", func(b *testing.B) {
		for b.Loop() {
			sink = LogNormalCDF(-3.3)
		}
	})
	b.Run("logDifference", func(b *testing.B) {
		for b.Loop() {
			sink = LogNormalDifference(-1.3, 0.8)
		}
	})
}
