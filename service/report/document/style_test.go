package document

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// Text keeps the contrast of WCAG 2.2, 1.4.3 (AA), 4.5 to 1, on both grounds and in both schemes; relative luminance as defined
// there.
func TestContrast(t *testing.T) {
	t.Parallel()
	style, err := files.ReadFile("style.css")
	require.NoError(t, err)
	schemes := regexp.MustCompile(`(?s):root \{[^}]*--paper[^}]*\}`).FindAllString(string(style), -1)
	require.Len(t, schemes, 2, "light and dark")
	for _, scheme := range schemes {
		colors := map[string]float64{}
		for _, m := range regexp.MustCompile(`--(\w+): #([0-9a-f]{6}|[0-9a-f]{3});`).FindAllStringSubmatch(scheme, -1) {
			colors[m[1]] = luminance(t, m[2])
		}
		for _, ground := range []string{"paper", "faint"} {
			for _, text := range []string{"ink", "quiet", "deep"} {
				require.GreaterOrEqual(t, contrast(colors[text], colors[ground]), 4.5, "%s on %s", text, ground)
			}
		}
		// What is no text keeps 3 to 1 (1.4.11).
		require.GreaterOrEqual(t, contrast(colors["warm"], colors["paper"]), 3.0)
	}
}

func contrast(a, b float64) float64 { return (max(a, b) + 0.05) / (min(a, b) + 0.05) }

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		require.NoError(t, err)
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}
