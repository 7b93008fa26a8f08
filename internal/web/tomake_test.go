package web

import (
	"net/http"
	"strings"
	"testing"

	"slabside/internal/demand"
	"slabside/internal/fault"
)

func TestToMake_Shows(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	p := ask(t, site, "GET", "/to-make", nil)
	if got := p.count("fieldset.line"); got != 6 {
		t.Errorf("%d lines, want 6", got)
	}
	if v, _ := attrOf(all(p.root, "#line-0-bags")[0], "value"); v != "80" {
		t.Errorf("bags %q, want 80", v)
	}
	if _, ok := attrOf(all(p.root, "#line-0-must")[0], "checked"); !ok {
		t.Error("an order that must go is not marked")
	}
	p.says(t, ".pairs div", "Pear drops 113 g 6 bags packed")
	p.says(t, ".pairs div", "Pear drops, pink 420 g loose, lot P-12")
}

func TestToMake_SaveAndFollow(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	form := lineForm("7", line("pear-113", "92"), line("mix-227", "60"), line("mint-113", "40"), line("beads-113", "70"), line("butter-113", "24"), line("almond-113", "30"))
	p := ask(t, site, "POST", "/to-make", form)
	if p.StatusCode != http.StatusSeeOther || p.Header.Get("Location") != "/?saved=8" {
		t.Fatalf("%d to %q", p.StatusCode, p.Header.Get("Location"))
	}
	if f.book.ToMake[0].Bags != 92 || f.book.ToMake[0].Must {
		t.Errorf("kept %+v", f.book.ToMake[0])
	}
	after := ask(t, site, "GET", "/?saved=8", nil)
	after.says(t, ".changed .lead", "12 more bags: one more half boil of Lemon shells; done 17:32 instead of 16:52.")
	after.says(t, ".changed tr.differs", "boils 7 8 changed")
	// A link from before the next change says nothing of it.
	f.head++
	if ask(t, site, "GET", "/?saved=8", nil).count(".changed") != 0 {
		t.Error("the change is told of a book that has moved on")
	}
}

func TestToMake_TryKeepsNothing(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	form := lineForm("7", line("pear-113", "400"))
	form.Set("act", "try")
	p := ask(t, site, "POST", "/to-make", form)
	p.says(t, "#follows .lead", "96 more bags: five more half boils of Lemon shells")
	if v, _ := attrOf(all(p.root, "#line-0-bags")[0], "value"); v != "400" {
		t.Errorf("typed 400, the page shows %q", v)
	}
	if len(f.book.ToMake) != 6 || f.head != 7 {
		t.Error("looking has changed the book")
	}
	f.planErr = fault.Invalid("no rolls for pear drops").WithHint("add the rolls")
	p = ask(t, site, "POST", "/to-make", form)
	p.says(t, "#follows", "The day cannot be planned like this. No rolls for pear drops. Add the rolls.")
}

func TestToMake_AddAndTakeOut(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	form := lineForm("7", line("pear-113", "5"), line("mix-227", "6"))
	form.Set("act", "add")
	p := ask(t, site, "POST", "/to-make", form)
	if p.StatusCode != http.StatusOK || p.count("fieldset.line") != 3 {
		t.Errorf("after adding: status %d, %d lines", p.StatusCode, p.count("fieldset.line"))
	}
	form.Set("act", "out.0")
	p = ask(t, site, "POST", "/to-make", form)
	if p.count("fieldset.line") != 1 {
		t.Fatalf("after taking out: %d lines", p.count("fieldset.line"))
	}
	p.says(t, "option[selected]", "Shop mix 227 g")
	form.Set("act", "out.77")
	if p = ask(t, site, "POST", "/to-make", form); p.count("fieldset.line") != 2 {
		t.Error("taking out a line that is not there changed the form")
	}
	if f.head != 7 {
		t.Error("adding a line has changed the book")
	}
}

// Each fault stands by its field, is read out with it, and nothing typed is lost.
func TestToMake_FaultsByField(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, product, bags, due string
		field, want              string
	}{
		{"no bags", "pear-113", "0", "", "bags", "0 bags cannot be meant"},
		{"negative", "pear-113", "-3", "", "bags", "-3 bags cannot be meant"},
		{"letters", "pear-113", "abc", "", "bags", `"abc" is not a whole number of bags`},
		{"a part of a bag", "pear-113", "2.5", "", "bags", `"2.5" is not a whole number of bags`},
		{"nothing", "pear-113", "", "", "bags", "No number of bags"},
		{"far too many", "pear-113", "100001", "", "bags", "100001 bags cannot be meant"},
		{"unknown product", "no-such", "5", "", "product", `Unknown product "no-such"`},
		{"no product", "", "5", "", "product", "Unknown product"},
		{"no date", "pear-113", "5", "soon", "due", `"soon" is not a date`},
		{"markup", "pear-113", "<b>x</b>", "", "bags", `"<b>x</b>" is not a whole number of bags`},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			site, f := fixtureSite()
			bad := line(c.product, c.bags)
			bad.Set("due", c.due)
			// A blank line before it is left out and must not shift the fault.
			form := lineForm("7", line("mix-227", "6"), map[string][]string{}, bad)
			p := ask(t, site, "POST", "/to-make", form)
			if p.StatusCode != http.StatusUnprocessableEntity {
				t.Fatalf("status %d", p.StatusCode)
			}
			p.says(t, "#line-2-"+c.field+"-e", c.want)
			in := all(p.root, "#line-2-"+c.field)[0]
			if d, _ := attrOf(in, "aria-describedby"); d != "line-2-"+c.field+"-e" {
				t.Errorf("the field is described by %q", d)
			}
			if p.count("[aria-invalid]") != 1 {
				t.Errorf("%d fields are marked wrong", p.count("[aria-invalid]"))
			}
			if v, _ := attrOf(all(p.root, "#line-2-bags")[0], "value"); v != c.bags {
				t.Errorf("typed %q, the page shows %q", c.bags, v)
			}
			p.says(t, "#wrong", "1 field needs another look.")
			if f.head != 7 {
				t.Error("a wrong form was kept")
			}
		})
	}
}

func TestToMake_Conflict(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	f.book.ToMake = []demand.Line{{Product: "pear-113", Bags: 33}}
	f.head = 9 // somebody else saved twice since the page was opened at 7
	form := lineForm("7", line("pear-113", "44"))
	p := ask(t, site, "POST", "/to-make", form)
	if p.StatusCode != http.StatusConflict {
		t.Fatalf("status %d", p.StatusCode)
	}
	p.says(t, "#wrong tr", "Pear drops 113 g 33 bags 44 bags")
	if v, _ := attrOf(all(p.root, "#line-0-bags")[0], "value"); v != "44" {
		t.Errorf("typed 44, the page shows %q", v)
	}
	if v, _ := attrOf(all(p.root, "input[name=head]")[0], "value"); v != "9" {
		t.Errorf("head %q, want 9", v)
	}
	if f.book.ToMake[0].Bags != 33 {
		t.Error("the conflict was overwritten")
	}
	form.Set("head", "9")
	if p := ask(t, site, "POST", "/to-make", form); p.StatusCode != http.StatusSeeOther || f.book.ToMake[0].Bags != 44 {
		t.Errorf("saving again: status %d, kept %d", p.StatusCode, f.book.ToMake[0].Bags)
	}
}

func TestToMake_BrokenForms(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	for name, body := range map[string]string{
		"empty": "", "no head": "lines=1&act=save", "no lines": "head=7&act=save", "too many": "head=7&lines=100000&act=save",
		"negative": "head=7&lines=-1&act=save", "no act": "head=7&lines=0", "not a form": "%zz",
	} {
		r := newRequest("POST", "/to-make", map[string][]string{})
		r.Body = bodyOf(body)
		if p := send(t, site, r); p.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d", name, p.StatusCode)
		}
	}
	if f.head != 7 {
		t.Error("a broken form was kept")
	}
	// An empty form is meant: nothing is to be made.
	if p := ask(t, site, "POST", "/to-make", lineForm("7")); p.StatusCode != http.StatusSeeOther || len(f.book.ToMake) != 0 {
		t.Errorf("no lines: status %d, %d kept", p.StatusCode, len(f.book.ToMake))
	}
}

// A store that refuses after the page's own check is still shown by the field.
func TestToMake_StoreRefuses(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	f.setErr = problems(fault.Invalid("sold out").At("line[0].product"))
	p := ask(t, site, "POST", "/to-make", lineForm("7", map[string][]string{}, line("pear-113", "4")))
	p.says(t, "#line-1-product-e", "Sold out.")
	f.setErr = fault.Busy("another program holds the book")
	if p := ask(t, site, "POST", "/to-make", lineForm("7", line("pear-113", "4"))); p.StatusCode != http.StatusServiceUnavailable || p.Header.Get("Retry-After") == "" {
		t.Errorf("busy: status %d", p.StatusCode)
	}
}

func TestBoilChanges(t *testing.T) {
	t.Parallel()
	a, b := fixturePlan(t), fixturePlan(t)
	if got := changeSentence(a, b); got != "As many bags as before: the same boils; done at 16:52 as before" {
		t.Errorf("no change is told as %q", got)
	}
	b.Batches = b.Batches[1:]
	b.Bags[0].Asked -= 3
	if got := changeSentence(a, b); !strings.HasPrefix(got, "3 fewer bags: one less whole boil of Pear drops;") {
		t.Errorf("%q", got)
	}
	if got := changeSentence(emptyDay(a), a); !strings.Contains(got, "two more whole boils of Pear drops, ") || strings.Contains(got, "done") {
		t.Errorf("from nothing: %q", got)
	}
}
