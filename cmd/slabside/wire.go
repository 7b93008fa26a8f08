package main

import (
	"context"
	"crypto/rand"
	"os"
	"path/filepath"
	"strings"
	"time"

	"slabside/internal/book"
	"slabside/internal/bookfile"
	"slabside/internal/cli"
	"slabside/internal/paper"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
	"slabside/internal/web"
)

// wire joins the commands with the adapters; no adapter knows another.
func wire() cli.Env {
	return cli.Env{
		Open:        open,
		Restore:     sqlite.Restore,
		Drill:       sqlite.Try,
		Decode:      decode,
		Encode:      bookfile.Encode,
		DemoBook:    bookfile.Demo,
		DemoRecords: bookfile.DemoRecords,
		Sheets:      paper.Sheets,
		Listen:      web.Listen,
		Serve:       serve,
		Random:      rand.Reader,
		Language:    language(os.Getenv),
	}
}

// language names the locale that numbers are printed in, as POSIX ranks its variables.
func language(getenv func(string) string) string {
	for _, name := range []string{"LC_ALL", "LC_NUMERIC", "LANG"} {
		if v := getenv(name); v != "" {
			v, _, _ = strings.Cut(v, ".")
			v, _, _ = strings.Cut(v, "@")
			return v
		}
	}
	return ""
}

// open opens a shop book by the ending of its name: a shop-book file or a database.
func open(ctx context.Context, path string, create bool) (store.Keeper, error) {
	if strings.EqualFold(filepath.Ext(path), ".toml") {
		return bookfile.Open(path)
	}
	return sqlite.Open(ctx, path, sqlite.Options{MustExist: !create, Now: time.Now})
}

func decode(name string, data []byte) (book.Book, []cli.Problem, error) {
	b, found, err := bookfile.Decode(name, data)
	problems := make([]cli.Problem, len(found))
	for i, p := range found {
		problems[i] = cli.Problem{Line: p.Line, Field: p.Field, Place: p.Place, Text: p.Text, Hint: p.Hint, Caution: p.Severity == book.Caution}
	}
	if len(found) > 0 {
		err = nil // it only repeats the first of them
	}
	return b, problems, err
}
