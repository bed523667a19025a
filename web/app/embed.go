// Package app holds the built pages. They are made by npm run build in this
// folder; until then a page says so.
package app

import (
	"embed"
	"io/fs"
	"net/http"
	"path"
	"strings"
)

//go:embed all:dist
var files embed.FS

const unbuilt = `<!doctype html><html lang="en"><meta charset="utf-8"><title>Stopledger</title>
<h1>The pages are not built yet</h1>
<p>Build them with Node 20 or later, then build the program again:</p>
<pre>cd web/app && npm ci && npm run build
go build ./cmd/stopledger</pre>
<p>The JSON API and the websockets work without them.</p></html>`

// Handler serves the built pages. Every address that is no file gets the one
// page, whose router knows it.
func Handler() http.Handler { return handler(mustSub(files, "dist")) }

func mustSub(f fs.FS, dir string) fs.FS {
	sub, err := fs.Sub(f, dir)
	if err != nil {
		panic(err) // the embed pattern above names the folder
	}
	return sub
}

func handler(dist fs.FS) http.Handler {
	page, err := fs.ReadFile(dist, "index.html")
	built := err == nil
	if !built {
		page = []byte(unbuilt)
	}
	static := http.FileServerFS(dist)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			http.Error(w, "pages are read", http.StatusMethodNotAllowed)
			return
		}
		name := strings.TrimPrefix(path.Clean(r.URL.Path), "/")
		info, err := fs.Stat(dist, name)
		switch {
		case err == nil && !info.IsDir() && name != "index.html" && !strings.HasPrefix(name, "."):
			if strings.HasPrefix(name, "assets/") { // names there hold a hash of the content
				w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
			} else {
				w.Header().Set("Cache-Control", "no-cache")
			}
			static.ServeHTTP(w, r)
		case path.Ext(name) != "" && name != "index.html":
			http.NotFound(w, r)
		default:
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			w.Header().Set("Cache-Control", "no-cache")
			_, _ = w.Write(page)
		}
	})
}
