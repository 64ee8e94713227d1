package service_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const module = "example.com/tailbound/"

// stages gives each stage its place in the flow: it may import only stages before it.
func stages() map[string]int {
	return map[string]int{
		"numeric": 0, "fault": 0, "table": 1, "trace": 2, "reading": 2, "fit": 3, "limit": 4, "variance": 5,
		"decision": 6, "comparison": 6, "planning": 7, "report": 8, "assess": 9,
	}
}

// rules says what a folder and the folders under it may not import, by the beginning of the path.
func rules() []struct {
	folder string
	banned []string
} {
	domain := []string{}
	exposure := []string{}
	for name, rank := range stages() {
		domain = append(domain, module+"service/"+name)
		if rank > 0 {
			exposure = append(exposure, module+"service/"+name)
		}
	}
	return []struct {
		folder string
		banned []string
	}{
		{"client", []string{module + "service", module + "cmd"}},
		{"service", []string{module + "client", module + "cmd"}},
		{"service/rest", append(domain, module+"service/rpc")},
		{"service/web", append(domain, module+"service/rpc")},
		{"service/fit/likelihood", inFit("posterior", "calibrated", "check")},
		{"service/fit/posterior", inFit("calibrated", "check")},
		{"service/fit/calibrated", inFit("posterior", "check")},
		{"service/fit/check", inFit("posterior", "calibrated")},
		{"service/report/figure/sheet", exposure},
		{"service/rpc", []string{module + "service/rest", module + "service/web", "net/http"}},
		{"service/rpc/wire", []string{module + "service/rpc/request", "google.golang.org/grpc"}},
		{"service/rpc/request", []string{"google.golang.org/grpc"}},
	}
}

// inFit are packages under the stage fit, which lie on the likelihood and beside each other.
func inFit(names ...string) []string {
	out := make([]string, len(names))
	for i, name := range names {
		out[i] = module + "service/fit/" + name
	}
	return out
}

// bannedInStages are what carries a result out of the process or lets one depend on more than the input.
func bannedInStages() []string {
	return []string{"google.golang.org/protobuf", "google.golang.org/grpc", module + "proto", "net/", "net", "log", "os", "math/rand", "crypto/rand"}
}

func TestImports(t *testing.T) {
	t.Parallel()
	seen := 0
	for _, root := range []string{".", "../client", "../cmd"} {
		require.NoError(t, filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			seen++
			checkFile(t, path)
			return nil
		}))
	}
	require.Greater(t, seen, 30, "the walk found the sources")
}

func checkFile(t *testing.T, path string) {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
	require.NoError(t, err)
	folder := strings.TrimPrefix(filepath.ToSlash(filepath.Join("service", filepath.Dir(path))), "../")
	stage, _, _ := strings.Cut(strings.TrimPrefix(folder, "service/"), "/")
	rank, isStage := stages()[stage]
	for _, name := range []string{"util", "common", "models"} {
		require.NotContains(t, strings.Split(folder, "/"), name)
	}
	for _, spec := range file.Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		require.NoError(t, err)
		for _, rule := range rules() {
			if under(folder, rule.folder) {
				require.False(t, slices.ContainsFunc(rule.banned, func(b string) bool { return under(imported, b) }), "%s imports %s", path, imported)
			}
		}
		if !isStage {
			continue
		}
		require.False(t, under(folder, "service/fit") && imported == module+"service/fit", "%s imports the package over it", path)
		require.False(t, imported == "time" && readsClock(file), "%s reads the clock", path)
		require.False(t, slices.ContainsFunc(bannedInStages(), func(b string) bool { return under(imported, b) }), "%s imports %s", path, imported)
		if inner, ok := strings.CutPrefix(imported, module+"service/"); ok {
			name, _, _ := strings.Cut(inner, "/")
			before, known := stages()[name]
			require.True(t, name == stage || known && before < rank, "%s imports %s, which is not a stage before it", path, imported)
		}
	}
}

func readsClock(file *ast.File) (reads bool) {
	ast.Inspect(file, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok {
			x, named := s.X.(*ast.Ident)
			reads = reads || named && x.Name == "time" && slices.Contains([]string{"Now", "Since", "Until", "After", "Tick"}, s.Sel.Name)
		}
		return true
	})
	return reads
}

func under(path, folder string) bool {
	return path == folder || strings.HasPrefix(path, strings.TrimSuffix(folder, "/")+"/")
}
