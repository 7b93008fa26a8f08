package web

import (
	"net/http"
	"net/url"
	"testing"

	"slabside/internal/access"
)

// A book that knows nobody says what to do first and asks nothing that has one answer;
// the form as it stands makes the owner.
func TestPeople_First(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	p := ask(t, site, "GET", "/people", nil)
	p.says(t, "main h2", "Make the first owner")
	p.says(t, "main .card", "Begin with the person who decides who may do what. An owner may do everything")
	if p.count("main h2") != 1 || p.count("main h3") != 0 || p.count("main select") != 0 || p.count("main ul") != 0 {
		t.Errorf("%d headings, %d selections and %d lists where nobody is", p.count("main h2")+p.count("main h3"), p.count("main select"), p.count("main ul"))
	}
	form := url.Values{"act": {"add"}, "name": {"Odile"}, "pin": {pins["Odile"]}}
	for _, n := range all(p.root, "main form input[type=hidden]") {
		name, _ := attrOf(n, "name")
		value, _ := attrOf(n, "value")
		form.Set(name, value)
	}
	if p := ask(t, site, "POST", "/people", form); p.StatusCode != http.StatusSeeOther {
		t.Fatalf("status %d: %s", p.StatusCode, p.body)
	}
	if st, err := f.Access(t.Context()); err != nil || len(st.People) != 1 || st.People[0].Role != access.Owner {
		t.Errorf("people %+v, %v", st.People, err)
	}
}

// Where there are people they are listed under their heading, and a role is chosen for
// another.
func TestPeople_Listed(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	p := x.ask("GET", "/people", x.tablet, x.shift["Odile"], nil)
	p.says(t, "main h2", "People")
	p.says(t, "main h3", "Add a person")
	p.says(t, ".people li", "Bram maker")
	if got := len(all(p.root, "#role option")); got != len(access.Roles()) || p.count("input[type=hidden][name=role]") != 0 {
		t.Errorf("%d roles to choose from", got)
	}
}
