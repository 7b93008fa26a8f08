package cli

import (
	"context"
	"io"
	"net"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/store"
)

// Env is what a run of the program gets from outside.
type Env struct {
	Args           []string // without the program's name
	Stdin          io.Reader
	Stdout, Stderr io.Writer
	Now            func() time.Time
	Language       string // of whoever reads the text, as a locale names it without its encoding ("de_AT"); empty: English

	// Open opens a shop book, a database or a shop-book file. With create, a
	// missing database is made; without, it is fault.NotFound.
	Open func(ctx context.Context, path string, create bool) (store.Keeper, error)
	// Restore puts a backup in the place of a book.
	Restore func(ctx context.Context, from, to string, o store.RestoreOptions) (store.Restored, error)
	// Drill restores a backup to a scratch folder and tells what it holds.
	Drill func(ctx context.Context, from string) (store.Audit, error)
	// Decode reads a shop-book file; problems carry lines. A book with errors is not to be used.
	Decode func(name string, data []byte) (book.Book, []Problem, error)
	// Encode writes the definitions of a book as a shop-book file.
	Encode func(b book.Book) ([]byte, error)
	// DemoBook is the demo shop's shop-book file.
	DemoBook func() []byte
	// DemoRecords is what the demo shop has written down of its batches, a JSON object a
	// line.
	DemoRecords func() []byte
	// Sheets writes the day sheet and the batch sheets of a plan as one PDF.
	Sheets func(w io.Writer, p *app.DayPlan) error
	// Listen takes an address, before anything else is done; a local one must be of
	// this machine alone.
	Listen func(ctx context.Context, addr string, local bool) (net.Listener, error)
	// Serve shows the pages until ctx ends and closes the listeners.
	Serve func(ctx context.Context, a *app.App, e Entrances) error
	// Random is where PINs and secrets come from.
	Random io.Reader
}

// Problem is one finding of a proof.
type Problem struct {
	Line    int    `json:"line"`
	Field   string `json:"field"` // path in the file's keys, counted from 0
	Place   string `json:"place"` // the same in words a person can find, counted from 1; empty for the whole file
	Text    string `json:"text"`
	Hint    string `json:"hint,omitempty"`
	Caution bool   `json:"caution,omitempty"` // worth knowing, but the file can be used
}
