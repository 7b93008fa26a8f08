package web

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// mostUpload is the largest body of the page that takes order files [bytes]: a
// new file of 4 MB beside the text of the one before.
const mostUpload = 9 << 20

// shownLines is how many lines are shown as they would become lines to make.
const shownLines = 10

// csvFault is the name an order file has in its faults.
const csvFault = "the file"

// csvView is the page that brings orders in from a file. Everything known of it
// stands in its form; nothing is kept in between.
type csvView struct {
	Base     base
	First    *firstStep
	Head     store.Head
	Text     string
	Faults   []faultLine
	Conflict []conflictRow
	Table    *csvTableView // nil before a file is read
}

// csvTableView is what the file is taken for.
type csvTableView struct {
	Guessed  bool   // read as Windows-1252
	Columns  string // the columns the selects were made for
	Shown    string // the text this page shows, in short
	Fields   []csvSelect
	Words    []csvSelect
	Dates    *csvSelect // nil when no date needs it
	Lines    []csvLine
	Count    string
	More     int // lines that are not shown
	Problems []faultLine
}

// csvSelect is one question with the answers there are.
type csvSelect struct {
	Name, Label, Help, Error string
	Options                  []csvOption
}

type csvOption struct {
	Value, Text string
	Chosen      bool
}

type csvLine struct{ Product, Bags, Must, Due, For string }

// csvFields are the fields of a line with their names on the page.
var csvFields = [...][2]string{{"product", "Product"}, {"bags", "Bags"}, {"must", "Must go"}, {"due", "Due"}, {"for", "For"}}

func (s *server) toMakeCSV(w http.ResponseWriter, r *http.Request) error {
	b, head, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return s.render(w, http.StatusOK, "tomakecsv", csvView{Base: frame("Orders from a file", "/to-make"), First: noBook()})
	}
	if err != nil {
		return err
	}
	v := csvView{Base: s.base(r, "Orders from a file", "/to-make"), Head: head}
	if len(b.Products) == 0 {
		v.First = noProducts()
	}
	return s.render(w, http.StatusOK, "tomakecsv", v)
}

// postToMakeCSV reads the file or the text and shows what it would become, adds
// its lines to those of the book, or puts them in their place.
func (s *server) postToMakeCSV(w http.ResponseWriter, r *http.Request) error {
	err := r.ParseMultipartForm(mostUpload)
	if err != nil && !errors.Is(err, http.ErrNotMultipart) {
		if errors.As(err, new(*http.MaxBytesError)) {
			return err
		}
		return fault.Invalid("the form cannot be read").WithCause(err).WithHint("open the page again")
	}
	form := r.PostForm
	expect, err := seenHead(form)
	if err != nil {
		return err
	}
	b, head, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	v := csvView{Base: s.base(r, "Orders from a file", "/to-make"), Head: expect, Text: form.Get("text")}
	show := func(st int) error { return s.render(w, st, "tomakecsv", v) }
	var from io.Reader = strings.NewReader(v.Text)
	if file, h, err := r.FormFile("file"); err == nil {
		defer file.Close()
		if h.Size > 0 {
			from = file
		}
	}
	t, err := app.ReadTable(csvFault, from)
	if err != nil {
		if fault.KindOf(err) != fault.KindInvalid {
			return err
		}
		v.Faults = faultLines(public(err))
		return show(http.StatusUnprocessableEntity)
	}
	v.Text = t.Text
	m, seen := csvMapping(form, t, b)
	lines, wrong := app.MapOrders(t, m, b)
	v.Table = csvTableOf(t, m, b, lines, wrong)

	act := form.Get("act")
	if act == "add" {
		lines = slices.Concat(b.ToMake, lines)
	}
	refuse := func(text, hint string) error {
		v.Faults = []faultLine{{Text: text, Hint: hint}}
		return show(http.StatusUnprocessableEntity)
	}
	switch {
	case act == "look":
		return show(http.StatusOK)
	case act != "add" && act != "replace":
		return fault.Invalid("the form does not say what to do").WithHint("press one of the page's buttons")
	case len(wrong) > 0:
		return refuse("Nothing was kept: some lines are not right yet", "What is wrong stands below, line by line")
	case !seen:
		return refuse("Nothing was kept: there is something here that was not shown yet", "Look at the lines below, then press again")
	case v.Table.Count == "":
		return refuse("Nothing was kept: there is no line in the file", "Choose another file, or write the lines on the page To make")
	case len(lines) > mostLines:
		return refuse(fmt.Sprintf("Nothing was kept: that would be %d lines, and a day takes up to %d", len(lines), mostLines), "Split the file by its days")
	}
	err = s.setLines(w, r, b, head, expect, lines, "orders brought in from a file")
	switch {
	case errors.As(err, new(app.Problems)): // of the lines that were in the book
		v.Faults = faultLines(public(err))
		return show(http.StatusUnprocessableEntity)
	case err == nil || fault.KindOf(err) != fault.KindConflict:
		return err
	}
	// As on the page of the lines: say what differs and take the new head, so that
	// pressing again is a decision.
	now, head, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	if act == "add" {
		lines = slices.Concat(now.ToMake, lines[len(b.ToMake):])
	}
	v.Head, v.Conflict = head, differences(now, lines)
	v.Faults = []faultLine{{Text: changedMeanwhile,
		Hint: "Look at the differences, then press the button again"}}
	return show(http.StatusConflict)
}

// csvMapping is the mapping as the form has it, guessed where the form has been
// made for other columns or does not know a word. Seen says that the form was
// made for this very text and asks of every word.
func csvMapping(form url.Values, t *app.Table, b book.Book) (m app.Mapping, seen bool) {
	seen = form.Get("shown") == shortOf(t.Text)
	m = app.GuessMapping(t, b)
	if form.Get("columns") == fmt.Sprintf("%q", t.Columns) {
		m.Columns = map[string]int{}
		for _, f := range csvFields {
			if i, err := strconv.Atoi(form.Get("column." + f[0])); err == nil && i >= 0 && i < len(t.Columns) {
				m.Columns[f[0]] = i
			}
		}
		m.Dates, _ = app.GuessDates(t, m)
		if d := app.DateOrder(form.Get("dates")); d == app.DayFirst || d == app.MonthFirst {
			m.Dates = d
		}
	}
	all := app.WordsOf(t, m)
	if len(all) > app.MostWords { // too many to ask of: only ids are taken
		m.Words = nil
		return m, seen
	}
	m.Words = app.GuessWords(all, b)
	typed := map[string]string{}
	for i := range app.MostWords {
		if w := form.Get(fmt.Sprintf("word.%d", i)); w != "" {
			typed[w] = form.Get(fmt.Sprintf("product.%d", i))
		}
	}
	for _, w := range all {
		id, ok := typed[w]
		if ok {
			m.Words[w] = id
		}
		seen = seen && ok
	}
	return m, seen
}

// shortOf tells one text from another. A browser sends other line ends than it
// was given, so they do not count.
func shortOf(text string) string {
	return fmt.Sprintf("%x", sha256.Sum256([]byte(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text))))
}

// csvTableOf lays out what the file is taken for.
func csvTableOf(t *app.Table, m app.Mapping, b book.Book, lines []demand.Line, wrong app.Problems) *csvTableView {
	v := &csvTableView{Guessed: t.Guessed, Columns: fmt.Sprintf("%q", t.Columns), Shown: shortOf(t.Text)}
	at := map[string]string{}
	for _, e := range wrong {
		i := strings.LastIndexByte(e.Field, ':')
		if i < 0 {
			at[e.Field] = sentence(e.Text) + ". " + sentence(e.Hint)
			continue
		}
		v.Problems = append(v.Problems, faultLine{Text: "Line " + e.Field[i+1:] + ": " + e.Text, Hint: sentence(e.Hint)})
	}
	for _, f := range csvFields {
		col, has := m.Columns[f[0]]
		q := csvSelect{Name: "column." + f[0], Label: f[1], Error: at[f[0]], Options: []csvOption{{Text: "no column"}}}
		for i, name := range t.Columns {
			if name == "" {
				name = fmt.Sprintf("column %d", i+1)
			}
			if len(t.Rows) > 0 && t.Rows[0].Cells[i] != "" {
				name += " (" + fault.Clip(t.Rows[0].Cells[i], 30) + ")"
			}
			q.Options = append(q.Options, csvOption{strconv.Itoa(i), name, has && i == col})
		}
		v.Fields = append(v.Fields, q)
	}
	if all := app.WordsOf(t, m); len(all) <= app.MostWords {
		for i, w := range all {
			v.Words = append(v.Words, csvWord(i, w, m.Words[w], b))
		}
	} else {
		v.Fields[0].Error = fmt.Sprintf("It holds more than %d different words, so that only ids of the shop book are taken. Is it another column?", app.MostWords)
	}
	if _, open := app.GuessDates(t, m); open || m.Dates != app.YearFirst {
		v.Dates = &csvSelect{Name: "dates", Label: "Dates with the year last", Options: []csvOption{{"", "choose…", m.Dates == app.YearFirst},
			{string(app.DayFirst), "day first, 28/11/2026", m.Dates == app.DayFirst}, {string(app.MonthFirst), "month first, 11/28/2026", m.Dates == app.MonthFirst}}}
		if m.Dates == app.YearFirst {
			v.Dates.Error = "Day and month could change places in every date of the file. Say which stands first"
		}
	}
	name := map[string]string{}
	for _, p := range b.Products {
		name[p.ID] = p.Name
	}
	for _, l := range lines[:min(len(lines), shownLines)] {
		cl := csvLine{Product: name[l.Product], Bags: strconv.Itoa(l.Bags), Due: l.Due, For: l.For}
		if l.Must {
			cl.Must = "must go"
		}
		v.Lines = append(v.Lines, cl)
	}
	if n := len(lines); n > 0 {
		bags := 0
		for _, l := range lines {
			bags += l.Bags
		}
		v.Count = count(n, "line", "lines") + ", " + count(bags, "bag", "bags")
		v.More = n - len(v.Lines)
	}
	return v
}

// csvWord asks which product a word of the file means.
func csvWord(i int, word, id string, b book.Book) csvSelect {
	q := csvSelect{Name: strconv.Itoa(i), Label: word, Options: []csvOption{{Text: "choose…"}, {app.LeftOut, "leave these rows out", id == app.LeftOut}}}
	for _, p := range b.Products {
		q.Options = append(q.Options, csvOption{p.ID, p.Name, p.ID == id})
		if p.ID == id && !strings.EqualFold(word, p.ID) && !strings.EqualFold(word, p.Name) {
			q.Help = "Not the book's own word: check it"
		}
	}
	if id == "" {
		q.Error = "Choose the product"
	}
	return q
}
