package source

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
)

// Key names one entry of the bibliography.
type Key string

// Strings returns keys as texts, in the order given; never nil.
func Strings(keys ...Key) []string {
	out := make([]string, len(keys))
	for i, k := range keys {
		out[i] = string(k)
	}
	return out
}

// Evidence says how far an entry can be trusted.
type Evidence string

// The four kinds of evidence, the firmest first.
const (
	Published Evidence = "published" // the text, or a text quoting it, was read
	Memory    Evidence = "memory"    // recalled; to be confirmed
	Computed  Evidence = "computed"  // from a stated formula
	Judgement Evidence = "judgement" // a reasoned choice
)

// Entry is one work.
type Entry struct {
	Key      Key
	Author   string
	Title    string // in [ ] where it describes the work rather than quotes it
	Year     string
	Where    string
	Evidence Evidence
}

//go:embed sources.csv
var table string

// Lookup returns the entry of a key.
func Lookup(key Key) (Entry, bool) {
	all := All()
	i := slices.IndexFunc(all, func(e Entry) bool { return e.Key == key })
	if i < 0 {
		return Entry{}, false
	}
	return all[i], true
}

// All returns every entry, in the order of their keys.
// It panics if the embedded table is broken, which the package's test rules out.
func All() []Entry {
	rows, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	if err != nil {
		panic(fmt.Sprintf("source: sources.csv: %v", err))
	}
	entries := make([]Entry, 0, len(rows))
	for _, r := range rows[1:] { // the first row is the header
		entries = append(entries, Entry{
			Key: Key(r[0]), Author: r[1], Title: r[2], Year: r[3], Where: r[4], Evidence: Evidence(r[5]),
		})
	}
	slices.SortFunc(entries, func(a, b Entry) int { return strings.Compare(string(a.Key), string(b.Key)) })
	return entries
}
