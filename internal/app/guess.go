package app

import (
	"slices"
	"strings"
	"unicode"

	"slabside/internal/book"
)

// MostWords is the largest number of different words a product column may hold
// to be mapped one by one.
const MostWords = 200

// headWords are the words a header may name a field with, the surest first
// (common practice, no source).
var headWords = map[string][]string{
	"product": {"product", "sku", "item", "article", "sweet", "title", "name", "description"},
	"bags":    {"bags", "quantity", "qty", "ordered", "count", "pieces", "pcs", "units", "number"},
	"must":    {"must", "required", "urgent", "firm", "priority"},
	"due":     {"due", "delivery", "deliver", "needed", "pickup", "collection", "dispatch", "ship", "date", "by"},
	"for":     {"for", "customer", "client", "buyer", "company", "recipient", "shop", "order", "note"},
}

// pastWords name dates that are over: when it was ordered is not when it is due.
var pastWords = []string{"order", "ordered", "placed", "created", "paid", "invoice", "invoiced"}

// GuessMapping proposes which column is which, by what stands in them and by
// the words of the header, each column once, and which word of the product
// column means which product. It is a guess for a person to look at.
func GuessMapping(t *Table, b book.Book) Mapping {
	m := Mapping{Columns: map[string]int{}}
	taken := map[int]bool{}
	for _, field := range [...]string{"product", "bags", "due", "must", "for"} {
		best, most := -1, 0
		for i := range t.Columns {
			if s := suits(t, i, field, b); s > most && !taken[i] {
				best, most = i, s
			}
		}
		if best >= 0 {
			m.Columns[field], taken[best] = best, true
		}
	}
	m.Words = GuessWords(WordsOf(t, m), b)
	m.Dates, _ = GuessDates(t, m)
	return m
}

// suits says how well a column suits a field; 0 is not at all.
func suits(t *Table, col int, field string, b book.Book) int {
	score := 0
	head := strings.FieldsFunc(strings.ToLower(t.Columns[col]), func(r rune) bool { return !unicode.IsLetter(r) })
	if field == "due" && slices.ContainsFunc(head, func(w string) bool { return slices.Contains(pastWords, w) }) {
		return 0
	}
	for rank, w := range headWords[field] {
		if slices.Contains(head, w) {
			score = 2 * (len(headWords[field]) - rank)
			if len(head) == 1 {
				score++
			}
			break
		}
	}
	filled, fits := 0, 0
	for _, row := range t.Rows {
		c := row.cell(col)
		if c == "" {
			continue
		}
		filled++
		if looks(c, field, b) {
			fits++
		}
	}
	sure := filled > 0 && 2*fits > filled
	switch {
	case field == "product" && sure:
		return score + 100
	case field == "for" || field == "product":
		return score
	case filled > 0 && !sure: // numbers, dates and yes or no show themselves
		return 0
	case field == "due" && sure || field == "bags" && sure:
		return score + 1
	}
	return score
}

// looks says whether a cell can be meant as a field by itself.
func looks(c, field string, b book.Book) bool {
	switch field {
	case "product":
		id, exact := product(c, b)
		return exact && id != ""
	case "bags":
		n, ok := wholeBags(c)
		return ok && n > 0
	case "due":
		_, day := isoDate(c, DayFirst)
		_, month := isoDate(c, MonthFirst)
		return day || month
	case "must":
		_, ok := yes(c)
		return ok
	}
	return true
}

// product returns the id of the product whose id or name is nearest to a word,
// and whether it is the very word.
func product(word string, b book.Book) (id string, exact bool) {
	var list []string
	of := map[string]string{}
	for _, p := range b.Products {
		for _, w := range [...]string{p.ID, p.Name} {
			if strings.EqualFold(w, word) {
				return p.ID, true
			}
			if _, twice := of[w]; !twice {
				list, of[w] = append(list, w), p.ID
			}
		}
	}
	return of[book.Nearest(word, list)], false
}

// WordsOf lists the different words of the product column in the order of the
// file, at most one more than MostWords.
func WordsOf(t *Table, m Mapping) []string {
	var out []string
	seen := map[string]bool{}
	for _, row := range t.Rows {
		w := row.cell(m.column("product"))
		if w == "" || seen[w] || len(out) > MostWords {
			continue
		}
		seen[w], out = true, append(out, w)
	}
	return out
}

// GuessWords maps each word to the product whose id or name is nearest, to
// nothing where none is near.
func GuessWords(words []string, b book.Book) map[string]string {
	out := map[string]string{}
	for _, w := range words {
		out[w], _ = product(w, b)
	}
	return out
}

// GuessDates says which order the dates with the year last are written in. It
// is open when day and month could change places in all of them and the order
// matters in some.
func GuessDates(t *Table, m Mapping) (order DateOrder, open bool) {
	for _, row := range t.Rows {
		day, _, _ := strings.Cut(row.cell(m.column("due")), " ")
		first, second, ok := yearLast(day)
		switch {
		case !ok:
		case first > 12:
			return DayFirst, false
		case second > 12:
			return MonthFirst, false
		default:
			open = true
		}
	}
	return YearFirst, open
}
