package limit

import (
	"slices"
	"strings"
	"testing"

	"slabside/internal/source"
)

// Every table names known substances and sources, and none of its rules stands for
// nothing.
func TestTables(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	rules := 0
	for _, x := range Tables() {
		seen[x.Market] = true
		if len(x.Rules) == 0 || len(x.Covers) == 0 || len(x.NotCovered) == 0 {
			t.Errorf("%s: %d rules, covers %v, not covered %v", x.Title, len(x.Rules), x.Covers, x.NotCovered)
		}
		if x.Read < "2026-11-25" {
			t.Errorf("%s was read on %s", x.Title, x.Read)
		}
		for _, r := range x.Rules {
			rules++
			for _, w := range append(slices.Clone(r.Substances), r.OnlyIf...) {
				if s, ok := Named(w); !ok || s.Word != w {
					t.Errorf("%s, %s: %q is no word of a substance", x.Title, r.Name, w)
				}
			}
			for _, k := range r.Sources {
				if _, ok := source.Lookup(k); !ok {
					t.Errorf("%s, %s: source %q is not known", x.Title, r.Name, k)
				}
			}
		}
	}
	for _, m := range append(Markets(), Survey) {
		if !seen[m] {
			t.Errorf("no table of %s", m)
		}
	}
	t.Logf("%d rules", rules)
	if rules < 150 {
		t.Errorf("only %d rules were read", rules)
	}
}

// No name is two substances; E numbers are read as they are written.
func TestNamed(t *testing.T) {
	t.Parallel()
	of := map[string]string{}
	for _, s := range shelf().substances {
		for _, n := range append([]string{s.Word}, s.Also...) {
			if other, dup := of[fold(n)]; dup {
				t.Errorf("%q is %s and %s", n, other, s.Word)
			}
			of[fold(n)] = s.Word
		}
	}
	// Source key cfia-colours: names of one colour in Canada, the EU and the US.
	for name, want := range map[string]string{"E 129": "allura red", "e129": "allura red", "Allura Red": "allura red", "FD&C Red No. 40": "allura red",
		"FD&C Blue No. 1": "brilliant blue", "E 133": "brilliant blue", "Tartrazine": "tartrazine", "FD&C Yellow No.5": "tartrazine", "E 110": "sunset yellow",
		"Sunset Yellow FCF": "sunset yellow", "FD&C Green No. 3": "fast green", "FD&C Red No. 3": "erythrosine", "E 132": "indigotine", "FD&C Red No. 4": "ponceau SX"} {
		if s, ok := Named(name); !ok || s.Word != want {
			t.Errorf("%q is %q", name, s.Word)
		}
	}
	if _, ok := Named("raspberry ketone"); ok {
		t.Error("what no table has is known")
	}
	for _, u := range shelf().usual {
		for _, w := range []string{u.Of, u.Substance} {
			if s, ok := Named(w); !ok || s.Word != w {
				t.Errorf("usual: %q is no word", w)
			}
		}
		if _, ok := source.Lookup(u.Source); !ok || !(u.Most > u.Least) || u.Most > 1 {
			t.Errorf("usual: %+v", u)
		}
	}
}

// The edition of a date is the newest that began by then.
func TestInForce(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ market, date, from string }{
		{US, "2027-01-14", "2025-09-01"}, {US, "2027-01-15", "2027-01-15"}, {US, "2031-01-01", "2027-01-15"}, {US, "2025-08-31", ""},
		{EU, "2022-08-06", ""}, {EU, "2022-08-07", "2022-08-07"}, {Canada, "2026-11-24", ""}, {Canada, "2026-11-25", "2026-11-25"}, {"moon", "2026-11-25", ""},
	} {
		x, ok := InForce(c.market, c.date)
		if x.From != c.from || ok != (c.from != "") {
			t.Errorf("%s on %s: from %q", c.market, c.date, x.From)
		}
	}
}

// A rule is confirmed only if every source it names was read.
func TestConfirmed(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		keys []source.Key
		want bool
	}{
		{[]source.Key{source.FDRCanada}, true}, {[]source.Key{source.Reg1333}, false}, {[]source.Key{source.COM2006427, source.Reg1334B}, false},
		{[]source.Key{source.Reg1334A}, true}, {[]source.Key{"nowhere"}, false},
	} {
		if got := (Rule{Sources: c.keys}).Confirmed(); got != c.want {
			t.Errorf("%v: confirmed %v", c.keys, got)
		}
	}
}

const goodTable = "# market: us\n# title: x\n# from: 2026-01-01\n# read: 2026-01-02\n# covers: a\n# not covered: b\n" +
	"rule,substances,most_mg_kg,how,only_if,src,note\na,malic acid,100,most,,practice,\n"

// What is wrong with a table is said with its line.
func TestParse(t *testing.T) {
	t.Parallel()
	x, err := parse("good.csv", goodTable)
	if err != nil || len(x.Rules) != 1 || x.Rules[0].Most != 1e-4 || x.Market != "us" || x.From != "2026-01-01" || x.NotCovered[0] != "b" {
		t.Fatalf("%+v %v", x, err)
	}
	for _, c := range []struct{ from, to, want string }{
		{"# market: us\n", "", "no market"}, {"# title: x\n", "", "no title"}, {"2026-01-01", "1 May", "is no date"}, {"# read: 2026-01-02\n", "", "is no date"},
		{"# covers: a", "# colour: a", "says of itself"}, {"# title: x", "# title: x\n# title: y", "twice"},
		{"rule,sub", "sub,rule", "columns"}, {"100,most", "-1,most", "good.csv:8: \"-1\" is no limit"}, {"100,most", "NaN,most", "no limit"}, {"100,most", "1000001,most", "no limit"},
		{"100,most", "0,most", "no limit"}, {"100,most", "100,as needed", "has no figure"}, {"100,most", "100,perhaps", "nothing that a rule asks"},
		{"malic acid", " ; ", "no substance"}, {"practice", "", "no source"}, {"\na,", "\n,", "no name"},
		{"practice,\n", "practice,\na,citric acid,1,most,,practice,\n", "already"}, {"practice,\n", "practice\n", "wrong number of fields"},
	} {
		if strings.Count(goodTable, c.from) == 0 {
			t.Fatalf("%q is not there to spoil", c.from)
		}
		if _, err := parse("good.csv", strings.Replace(goodTable, c.from, c.to, 1)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q for %q: %v, want %q", c.to, c.from, err, c.want)
		}
	}
}

// Whatever stands in a file, it is read or refused, and what is read can be judged by.
func FuzzParse(f *testing.F) {
	f.Add(goodTable)
	for _, name := range []string{"data/us-2027-01-15.csv", "data/eu-2022-08-07.csv", "data/survey-1965-01-01.csv"} {
		text, err := files.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Fuzz(func(t *testing.T, text string) {
		x, err := parse("fuzz.csv", text)
		if err != nil {
			return
		}
		for _, r := range x.Rules {
			if r.Name == "" || len(r.Substances) == 0 || (r.How == AtMost) != (r.Most > 0) || r.Most > 1 {
				t.Errorf("%+v", r)
			}
		}
	})
}
