package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// thingView is the form of one thing of the shop book.
type thingView struct {
	Base     base
	Title    string
	Kind     string
	One      string
	ID       string
	New      bool
	Like     string
	Head     store.Head
	Group    entry.Group
	Refused  string      // what was not done, where something is wrong
	Faults   []faultLine // of the whole, and those of fields that are not shown
	Wrong    int         // how many fields are wrong
	Conflict []conflictRow
	Why      string
	Uses     []thingLink
	Versions string      // address of the versions
	Copy     string      // address of a form for a copy
	See      []thingLink // what there is to see of it beside
	Single   bool
	Saved    bool
	Typed    bool   // some of it is typed and not kept yet
	Does     string // address of what the change does to the day
}

func (s *server) thing(w http.ResponseWriter, r *http.Request) error {
	b, head, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	kind, id := r.PathValue("kind"), r.PathValue("id")
	f, err := entry.Print(&b, kind, id)
	if err != nil {
		return err
	}
	f, typed := typedOver(f, r.URL.Query())
	v := s.thingView(r, &b, head, f, nil)
	v.Typed = typed
	if n := r.URL.Query().Get("saved"); n != "" {
		v.Saved = true
		if saved, err := strconv.ParseInt(n, 10, 64); err == nil && store.Head(saved) == head && s.saves.before(head) != nil {
			v.Does = "/?saved=" + n
		}
	}
	return s.render(w, http.StatusOK, "thing", v)
}

// typedOver lays what an address has typed over a form: figures that were tried on
// another page. Nothing of it is kept until it is saved.
func typedOver(f entry.Form, v url.Values) (entry.Form, bool) {
	over := false
	for name := range v {
		field, ok := strings.CutPrefix(name, "f.")
		if ok && len(f.Text) < mostFields && f.Text[field] != v.Get(name) {
			f.Text[field], over = v.Get(name), true
		}
	}
	return f, over
}

func (s *server) newThing(w http.ResponseWriter, r *http.Request) error {
	b, head, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	kind := r.PathValue("kind")
	var f entry.Form
	if like := r.URL.Query().Get("like"); like != "" {
		if kind == store.KindRecipe && r.URL.Query().Get("doctor") == switchDoctor {
			if b, _, err = app.SwitchDoctor(b, like); err != nil {
				return err
			}
		}
		f, err = entry.Duplicate(&b, kind, like)
	} else {
		f, err = entry.New(&b, kind)
	}
	if err != nil {
		return err
	}
	f, typed := typedOver(f, r.URL.Query())
	v := s.thingView(r, &b, head, f, nil)
	v.Typed = typed || r.URL.Query().Has("doctor")
	return s.render(w, http.StatusOK, "thing", v)
}

// postThing saves a thing, adds or takes out a row, or retires it.
func (s *server) postThing(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	if err := s.ownersOnly(r, r.PathValue("kind")); err != nil {
		return err
	}
	f, seen, err := readThing(r.PathValue("kind"), r.PathValue("id"), r.PostForm)
	if err != nil {
		return err
	}
	switch act := r.PostForm.Get("act"); {
	case act == "save":
		if err := wholeForm(&b, f); err != nil {
			return err
		}
		return s.saveThing(w, r, b, f, seen)
	case act == "retire":
		return s.retireThing(w, r, f, seen)
	case strings.HasPrefix(act, "add."):
		f.AddRow(act[len("add."):])
	case strings.HasPrefix(act, "out."):
		list, row := cutRow(act[len("out."):])
		f.TakeRow(list, row)
	default:
		return fault.Invalid("the form does not say what to do").WithHint("press one of the page's buttons")
	}
	v := s.thingView(r, &b, seen, f, nil)
	v.Why = r.PostForm.Get("why")
	return s.render(w, http.StatusOK, "thing", v)
}

// ownersOnly refuses a change of the shop's own page by anybody but an owner.
func (s *server) ownersOnly(r *http.Request, kind string) error {
	if kind == store.KindShop && !visitorOf(r).role().May(access.Govern) {
		return fault.Forbidden("%s may not do that", s.who(r)).WithHint("the shop's own page is the owner's")
	}
	return nil
}

// wholeForm refuses a form that lost a list on its way: kept as it came, it would
// empty the list.
func wholeForm(b *book.Book, f entry.Form) error {
	for _, n := range entry.Layout(b, f, nil) {
		if _, sent := f.Rows[n.Name]; n.Kind == book.List && !sent {
			return fault.Invalid("the form is not whole: nothing came of %q", strings.ToLower(n.Label)).WithHint("open the page again; nothing was changed")
		}
	}
	return nil
}

// cutRow takes the row's number off its name.
func cutRow(name string) (list string, row int) {
	i := strings.LastIndexByte(name, '.')
	if i < 0 {
		return name, -1
	}
	row, err := strconv.Atoi(name[i+1:])
	if err != nil {
		return name, -1
	}
	return name[:i], row
}

// mostFields is the largest number of fields one form takes.
const mostFields = 20_000

// readThing reads a form as it was sent, nothing corrected.
func readThing(kind, id string, sent url.Values) (entry.Form, store.Head, error) {
	head, err := seenHead(sent)
	if err != nil {
		return entry.Form{}, 0, err
	}
	if len(sent) > mostFields {
		return entry.Form{}, 0, fault.Invalid("a form takes up to %d fields", mostFields).WithHint("open the page again and send fewer")
	}
	f := entry.Form{Kind: kind, ID: id, Like: sent.Get("like"), Text: map[string]string{}, Rows: map[string]int{}}
	for name, values := range sent {
		switch {
		case strings.HasPrefix(name, "f."):
			f.Text[name[2:]] = strings.Join(values, ", ") // several ticked boxes
		case strings.HasPrefix(name, "rows."):
			n, err := strconv.Atoi(values[0])
			if err != nil || n < 0 || n > entry.MostRows {
				return f, 0, fault.Invalid("a list of a form takes up to %d rows", entry.MostRows).WithHint("open the page again and send fewer")
			}
			f.Rows[name[len("rows."):]] = n
		}
	}
	return f, head, nil
}

func (s *server) saveThing(w http.ResponseWriter, r *http.Request, b book.Book, f entry.Form, seen store.Head) error {
	ctx := r.Context()
	why := strings.TrimSpace(r.PostForm.Get("why"))
	before := s.planSoon(ctx, b)
	id, head, err := s.shop.Save(ctx, f, seen, s.who(r), why)
	var wrong app.Problems
	switch {
	case err == nil:
		if before != nil {
			s.saves.keep(head, before)
		}
		http.Redirect(w, r, fmt.Sprintf("%s?saved=%d", thingHref(f.Kind, id), head), http.StatusSeeOther)
		return nil
	case errors.As(err, &wrong):
	case fault.KindOf(err) == fault.KindConflict:
		return s.showThingConflict(w, r, f, why)
	default:
		return err
	}
	v := s.thingView(r, &b, seen, f, wrong)
	v.Why = why
	return s.render(w, http.StatusUnprocessableEntity, "thing", v)
}

// retireThing takes a thing out; one that is in use, or was changed by somebody
// else meanwhile, is shown as it is now.
func (s *server) retireThing(w http.ResponseWriter, r *http.Request, f entry.Form, seen store.Head) error {
	err := s.shop.Retire(r.Context(), f.Kind, f.ID, seen, s.who(r), strings.TrimSpace(r.PostForm.Get("why")))
	if err == nil {
		http.Redirect(w, r, "/book", http.StatusSeeOther)
		return nil
	}
	if fault.KindOf(err) != fault.KindConflict {
		return err
	}
	b, head, bookErr := s.shop.Book(r.Context())
	if bookErr != nil {
		return bookErr
	}
	kept, printErr := entry.Print(&b, f.Kind, f.ID)
	if printErr != nil {
		return printErr
	}
	v := s.thingView(r, &b, head, kept, nil)
	v.Refused = "Not taken out"
	v.Faults = []faultLine{{Text: changedMeanwhile, Hint: "Look at it again, then take it out"}}
	if len(v.Uses) > 0 {
		v.Faults = []faultLine{{Text: "It is still used", Hint: "Take it out of what stands under “Used by” first"}}
	}
	return s.render(w, http.StatusConflict, "thing", v)
}

// planSoon returns the plan of a book if it is there or soon made: what
// a change does to the day is worth a moment, not a wait.
func (s *server) planSoon(ctx context.Context, b book.Book) *app.DayPlan {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	return s.planKept(ctx, b)
}

// showThingConflict says what somebody else has changed, keeps what was typed, and
// takes the new head, so that saving again is a decision.
func (s *server) showThingConflict(w http.ResponseWriter, r *http.Request, f entry.Form, why string) error {
	b, head, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	v := s.thingView(r, &b, head, f, nil)
	v.Why = why
	v.Faults = []faultLine{{Text: changedMeanwhile,
		Hint: "Look at what differs, then save again to keep yours"}}
	if kept, err := entry.Print(&b, f.Kind, f.ID); err == nil {
		for _, d := range entry.Differences(kept, f) {
			v.Conflict = append(v.Conflict, conflictRow{fieldWords(d.Name), or(d.From, "nothing"), or(d.To, "nothing")})
		}
	}
	return s.render(w, http.StatusConflict, "thing", v)
}

// fieldWords says a field's name in a sentence: "portion 2, share".
func fieldWords(name string) string {
	var out []string
	for _, k := range strings.Split(name, ".") {
		if n, err := strconv.Atoi(k); err == nil && len(out) > 0 {
			out[len(out)-1] += fmt.Sprintf(" %d", n+1)
			continue
		}
		out = append(out, strings.ReplaceAll(k, "_", " "))
	}
	return strings.Join(out, ", ")
}

func (s *server) thingView(r *http.Request, b *book.Book, head store.Head, f entry.Form, wrong app.Problems) thingView {
	v := thingView{Refused: "Not saved", Kind: f.Kind, One: oneOf(f.Kind), ID: f.ID, Single: entry.Single(f.Kind), Like: f.Like, Head: head}
	v.New = !v.Single && f.ID == ""
	var faults []entry.Fault
	for _, e := range wrong {
		x := entry.Fault{Name: e.Field, Text: sentence(e.Text), Hint: sentence(e.Hint)}
		faults = append(faults, x)
		if x.Name == "" {
			v.Faults = append(v.Faults, faultLine{Text: x.Text, Hint: x.Hint})
		} else {
			v.Wrong++
		}
	}
	v.Group = entry.GroupOf(theOne(f.Kind), entry.Layout(b, f, faults))
	switch {
	case v.Single:
		v.Title = manyOf(f.Kind)
	case v.New:
		v.Title = "New " + v.One
	default:
		v.Title = entry.NameOf(b, f.Kind, f.ID)
	}
	if !v.New {
		v.Versions = versionsHref(f.Kind, f.ID)
		if !v.Single {
			if f.Kind == store.KindRecipe {
				v.See = []thingLink{{Href: "/recipes/" + url.PathEscape(f.ID), Name: "What a boil comes to"}}
			}
			if f.Kind == store.KindGlass {
				v.See = []thingLink{{Href: lookBackHref(f.ID), Name: "Look back from its checks"}}
			}
			v.Copy = newHref(f.Kind) + "?like=" + url.QueryEscape(f.ID)
		}
		if uses, err := app.UsesOf(b, f.Kind, f.ID); err == nil && !v.Single {
			for _, u := range uses {
				l := thingLink{Href: thingHref(u.Kind, u.ID), Name: u.Name, Says: u.Role}
				if u.Kind == "to_make" {
					l.Href = "/to-make"
				}
				v.Uses = append(v.Uses, l)
			}
		}
	}
	v.Base = s.base(r, v.Title, "/book")
	return v
}
