package document

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
)

// RequireWords demands that no text of a language is missing.
func RequireWords(t *testing.T, language string) {
	t.Helper()
	w, known := wordsOf(language)
	require.True(t, known, language)
	v := reflect.ValueOf(*w)
	for i := range v.NumField() {
		require.False(t, v.Field(i).IsZero(), "%s has no %s", language, v.Type().Field(i).Name)
	}
}
