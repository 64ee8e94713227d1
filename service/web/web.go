// Package web is the page for a person who has a file and a limit and no terminal. It is plain HTML, CSS and JavaScript
// modules, embedded in the program: it needs no other host, and it asks nothing but the public calls of the REST face.
package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"time"
)

// Assets is the path under which everything but the page itself lies.
const Assets = "/assets/"

// Policy is the content security policy of the page: its own files and calls, figures that it fetched, and nothing else. No
// text can become markup or script, as no page of this origin may use the interfaces that would make it so.
const Policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; " +
	"form-action 'none'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'"

//go:embed page
var files embed.FS

// file is one file of the page, ready to be sent.
type file struct {
	mediaType string
	plain     content
	// packed is compressed with gzip.
	packed content
}

// content is a body with the tag that its bytes give it.
type content struct {
	body []byte
	tag  string
}

// page serves files by path.
type page map[string]file

// New reads the embedded page. The handler takes GET and HEAD of / and of what lies under Assets; anything else is not found.
func New() (http.Handler, error) {
	p := page{}
	err := fs.WalkDir(files, "page", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		body, err := files.ReadFile(name)
		if err != nil {
			return err
		}
		f, err := newFile(name, body)
		if err != nil {
			return err
		}
		p[strings.TrimSuffix(strings.TrimPrefix(name, "page"), "index.html")] = f
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("web: reading the page: %w", err)
	}
	return p, nil
}

// newFile compresses a file once, so that no request has to.
func newFile(name string, body []byte) (file, error) {
	var packed bytes.Buffer
	w, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return file{}, err
	}
	if _, err := w.Write(body); err != nil {
		return file{}, err
	}
	if err := w.Close(); err != nil {
		return file{}, err
	}
	return file{mediaType: mediaType(name), plain: tagged(body), packed: tagged(packed.Bytes())}, nil
}

func tagged(body []byte) content {
	const bytesOfTag = 16
	sum := sha256.Sum256(body)
	return content{body, `"` + hex.EncodeToString(sum[:bytesOfTag]) + `"`}
}

// mediaType does not ask the machine, whose tables differ.
func mediaType(name string) string {
	switch path.Ext(name) {
	case ".html":
		return "text/html; charset=utf-8"
	case ".css":
		return "text/css; charset=utf-8"
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".svg":
		return "image/svg+xml"
	case ".csv":
		return "text/csv; charset=utf-8"
	default:
		return "application/octet-stream"
	}
}

// ServeHTTP sends a file. A browser keeps it and asks each time whether it has changed: the tag is the content, so the page of
// a new program is never mixed with modules of an old one.
func (p page) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	protect(h)
	f, found := p[r.URL.Path]
	if !found {
		http.NotFound(w, r)
		return
	}
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		h.Set("Allow", "GET, HEAD")
		http.Error(w, "This path takes GET and HEAD only.", http.StatusMethodNotAllowed)
		return
	}
	sent := f.plain
	h.Add("Vary", "Accept-Encoding")
	if acceptsGzip(r.Header.Get("Accept-Encoding")) {
		sent = f.packed
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("Content-Type", f.mediaType)
	h.Set("Cache-Control", "no-cache")
	h.Set("ETag", sent.tag)
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(sent.body))
}

// protect sets what every answer under these paths carries.
func protect(h http.Header) {
	h.Set("Content-Security-Policy", Policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
}

// acceptsGzip reads the header as far as browsers and curl write it: a list of names, each with a weight or without.
func acceptsGzip(header string) bool {
	for part := range strings.SplitSeq(header, ",") {
		name, weight, _ := strings.Cut(strings.TrimSpace(part), ";")
		if strings.EqualFold(strings.TrimSpace(name), "gzip") {
			q := strings.TrimSpace(weight)
			return !strings.HasPrefix(q, "q=0") || strings.ContainsAny(q, "123456789")
		}
	}
	return false
}
