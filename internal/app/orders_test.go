package app

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/shoptest"
)

func read(t *testing.T, text string) *Table {
	t.Helper()
	tab, err := ReadTable("o.csv", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return tab
}

// The quoting is that of RFC 4180, section 2; the bytes of Windows-1252 stand in
// WHATWG Encoding, index windows-1252 (0xE9 is é, 0x80 is €).
func TestReadTable(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name, text string
		columns    []string
		rows       []TableRow
		guessed    bool
	}{
		{"comma", "a,b\n1,2\n", []string{"a", "b"}, []TableRow{{2, []string{"1", "2"}}}, false},
		{"semicolon, commas inside", "a;b;c, whole\r\n1,5;2;3\r\n", []string{"a", "b", "c, whole"}, []TableRow{{2, []string{"1,5", "2", "3"}}}, false},
		{"tab, an empty cell between", "a\tb\tc\n1\t\t3\n", []string{"a", "b", "c"}, []TableRow{{2, []string{"1", "", "3"}}}, false},
		{"mark of UTF-8", "\ufeffa,b\n", []string{"a", "b"}, nil, false},
		{"Windows-1252", "caf\xe9;\x80\n1;2\n", []string{"café", "€"}, []TableRow{{2, []string{"1", "2"}}}, true},
		{"quoted line break and quotation mark", "a,b\n\"1\n2\",\"say \"\"x\"\"\"\n3,4\n", []string{"a", "b"}, []TableRow{{2, []string{"1 2", `say "x"`}}, {4, []string{"3", "4"}}}, false},
		{"blank rows and short rows", "a,b\n,\n\n1\n", []string{"a", "b"}, []TableRow{{4, []string{"1", ""}}}, false},
		{"a formula is text", "a,b\n=1+1,@x\n", []string{"a", "b"}, []TableRow{{2, []string{"=1+1", "@x"}}}, false},
		{"carriage returns alone", "a,b\r1,2\r", []string{"a", "b"}, []TableRow{{2, []string{"1", "2"}}}, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tab := read(t, c.text)
			if d := cmp.Diff(c.columns, tab.Columns) + cmp.Diff(c.rows, tab.Rows); d != "" {
				t.Error(d)
			}
			if tab.Guessed != c.guessed {
				t.Errorf("guessed %v", tab.Guessed)
			}
			if again := read(t, tab.Text); !cmp.Equal(again.Rows, tab.Rows) {
				t.Error("the text read again gives other rows")
			}
		})
	}
}

func TestReadTable_Refuses(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ text, want string }{
		"empty":            {"", "no header line"},
		"UTF-16":           {"\xff\xfea\x00", "not plain text"},
		"workbook":         {"PK\x03\x04\x00", "not plain text"},
		"no encoding":      {"a,\x81\n", "neither UTF-8 nor Windows-1252"},
		"quotation mark":   {"a,b\n1,\"2\n", "o.csv:2: a quotation mark"},
		"too many rows":    {"a\n" + strings.Repeat("1\n", mostRows+1), "more than 5000 rows"},
		"too many columns": {strings.Repeat("a,", mostColumns) + "a\n", "61 columns"},
		"too long a cell":  {"a\n" + strings.Repeat("x", mostCell+1) + "\n", "o.csv:2: a cell is longer"},
		"too large":        {"a\n" + strings.Repeat(" ", mostOrders), "larger than 4 MB"},
	} {
		_, err := ReadTable("o.csv", strings.NewReader(c.text))
		if fault.KindOf(err) != fault.KindInvalid || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

func TestGuessAndMapOrders(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	one, two := b.Products[0], b.Products[1]
	tab := read(t, "Order no;Customer name;Product name;Qty;Delivery date;Urgent\n"+
		"11;Quay;"+one.Name+";12,00;28/11/2026 09:30;yes\n"+
		"12;Hill;"+strings.ToUpper(two.ID)+";3;02/12/2026;\n"+
		"12;Hill;Postage and wrapping of it all;1;;\n")
	m := GuessMapping(tab, b)
	if want := map[string]int{"product": 2, "bags": 3, "due": 4, "must": 5, "for": 1}; !cmp.Equal(m.Columns, want) || m.Dates != DayFirst {
		t.Fatalf("guessed %v %q", m.Columns, m.Dates)
	}
	if w := m.Words["Postage and wrapping of it all"]; w != "" {
		t.Errorf("the postage is taken for %q", w)
	}
	want := []demand.Line{{Product: one.ID, Bags: 12, Must: true, Due: "2026-11-28", For: "Quay"}, {Product: two.ID, Bags: 3, Due: "2026-12-02", For: "Hill"}}
	lines, p := MapOrders(tab, m, b)
	if !slices.Equal(lines, want) || len(p) != 1 || p[0].Field != "o.csv:4" {
		t.Errorf("%+v, %v", lines, p)
	}
	m.Words["Postage and wrapping of it all"] = LeftOut
	if lines, p = MapOrders(tab, m, b); !slices.Equal(lines, want) || len(p) != 0 {
		t.Errorf("with the postage left out: %+v, %v", lines, p)
	}
}

// A column is found by what stands in it where its header says nothing.
func TestGuessMapping_ByContent(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	m := GuessMapping(read(t, "a,b,c\n2026-11-28,7,"+b.Products[0].Name+"\n"), b)
	if want := map[string]int{"product": 2, "due": 0, "bags": 1}; !cmp.Equal(m.Columns, want) {
		t.Errorf("guessed %v", m.Columns)
	}
}

func TestMapOrders_Cells(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	id := b.Products[0].ID
	cases := []struct {
		bags, must, due string
		order           DateOrder
		want            demand.Line
		problem         string
	}{
		{"12", "X", "", "", demand.Line{Bags: 12, Must: true}, ""},
		{"12.0", "n", "2026/1/5", "", demand.Line{Bags: 12, Due: "2026-01-05"}, ""},
		{"1", "", "3.4.2026", DayFirst, demand.Line{Bags: 1, Due: "2026-04-03"}, ""},
		{"1", "", "03/04/2026", MonthFirst, demand.Line{Bags: 1, Due: "2026-03-04"}, ""},
		{"1", "", "2026-11-28T09:00:00Z", DayFirst, demand.Line{Bags: 1, Due: "2026-11-28"}, ""},
		{"1", "", "03/04/2026", YearFirst, demand.Line{}, "not a date"},
		{"1", "", "28/11/2026", MonthFirst, demand.Line{}, "not a date"},
		{"1", "", "30/02/2026", DayFirst, demand.Line{}, "not a date"},
		{"1", "", "28/11/26", DayFirst, demand.Line{}, "not a date"},
		{"1.000", "", "", "", demand.Line{}, "not a whole number"},
		{"=1+1", "", "", "", demand.Line{}, "not a whole number"},
		{"0", "", "", "", demand.Line{}, "cannot be meant"},
		{"1", "perhaps", "", "", demand.Line{}, "neither yes nor no"},
		{"1,5", "", "", "", demand.Line{}, "not a whole number"},
	}
	for _, c := range cases {
		tab := &Table{Name: "o.csv", Columns: []string{"p", "b", "m", "d"}, Rows: []TableRow{{2, []string{id, c.bags, c.must, c.due}}}}
		lines, p := MapOrders(tab, Mapping{Columns: map[string]int{"product": 0, "bags": 1, "must": 2, "due": 3}, Dates: c.order}, b)
		c.want.Product = id
		switch {
		case c.problem == "" && (len(p) > 0 || len(lines) != 1 || lines[0] != c.want):
			t.Errorf("%+v: %+v %v", c, lines, p)
		case c.problem != "" && (len(p) != 1 || len(lines) != 0 || !strings.Contains(p[0].Text, c.problem) || p[0].Field != "o.csv:2"):
			t.Errorf("%+v: %+v %v", c, lines, p)
		}
	}
	tab := read(t, "product,bags\n"+id+",1,stray\n")
	if _, p := MapOrders(tab, Mapping{Columns: map[string]int{"product": 0, "bags": 1}}, b); len(p) != 1 || !strings.Contains(p[0].Text, "3 cells") {
		t.Errorf("a row with a cell too many: %v", p)
	}
	if _, p := MapOrders(tab, Mapping{}, b); len(p) != 2 || p[0].Field != "product" || p[1].Field != "bags" {
		t.Errorf("without columns: %v", p)
	}
}

func TestGuessDates(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]struct {
		order DateOrder
		open  bool
	}{
		"2026-11-28":             {YearFirst, false},
		"28/11/2026":             {DayFirst, false},
		"3/4/2026\n11/28/2026":   {MonthFirst, false},
		"3/4/2026\n12.11.2026":   {YearFirst, true},
		"3/4/2026 10:00\nsoon\n": {YearFirst, true},
	} {
		order, open := GuessDates(read(t, "due\n"+text+"\n"), Mapping{Columns: map[string]int{"due": 0}})
		if order != want.order || open != want.open {
			t.Errorf("%q: %q %v", text, order, open)
		}
	}
}

// Whatever the bytes, the reader answers with an Invalid or with a table within
// its limits whose text gives the same table again, and the guess maps it.
func FuzzReadTable(f *testing.F) {
	f.Add([]byte("product,bags\npear,3\n"))
	f.Add([]byte("a;b\n\"x\ny\";28/11/2026\n"))
	b := shoptest.Book()
	f.Fuzz(func(t *testing.T, data []byte) {
		tab, err := ReadTable("o.csv", strings.NewReader(string(data)))
		if err != nil {
			if fault.KindOf(err) != fault.KindInvalid {
				t.Fatal(err)
			}
			return
		}
		if len(tab.Rows) > mostRows || len(tab.Columns) > mostColumns {
			t.Fatalf("%d rows, %d columns", len(tab.Rows), len(tab.Columns))
		}
		again, err := ReadTable("o.csv", strings.NewReader(tab.Text))
		if err != nil || !cmp.Equal(again.Columns, tab.Columns) || !cmp.Equal(again.Rows, tab.Rows) {
			t.Fatalf("read again: %v %+v, first %+v", err, again, tab)
		}
		lines, _ := MapOrders(tab, GuessMapping(tab, b), b)
		if len(lines) > len(tab.Rows) || CheckLines(b, lines) != nil {
			t.Fatalf("lines that cannot be meant: %+v", lines)
		}
	})
}

// When something was ordered is not when it is due.
func TestGuessLeavesOrderDates(t *testing.T) {
	t.Parallel()
	for head, want := range map[string]bool{"Order date": false, "Created": false, "Delivery date": true, "Due": true} {
		table, err := ReadTable("orders.csv", strings.NewReader("Item,Qty,"+head+"\nx,4,2026-11-28\ny,2,2026-11-29\n"))
		if err != nil {
			t.Fatal(err)
		}
		if _, got := GuessMapping(table, shoptest.Book()).Columns["due"]; got != want {
			t.Errorf("%q is guessed as due: %v", head, got)
		}
	}
}
