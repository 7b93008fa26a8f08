package store_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"slabside/internal/store"
)

// TestState_consistent has logs whose hashes and sums are all right, as somebody
// who writes the whole log anew would make them, and whose content cannot be.
func TestState_consistent(t *testing.T) {
	t.Parallel()
	bodyOf := func(kind string) []byte {
		if kind == store.KindShop {
			return []byte(`{"currency":"","market":"","name":"a","place":"","time_zone":"UTC","units":"us"}`)
		}
		return []byte(`{"id":"bag","name":"bag","net":"1 kg"}`)
	}
	mark := func(kind, slug string, n int) store.Mark {
		return store.Mark{Name: store.Name{Kind: kind, Slug: slug}, N: n, SHA256: store.Sum(bodyOf(kind))}
	}
	bag := store.Name{Kind: store.KindProduct, Slug: "bag"}
	sound := func() (store.Act, store.ActBody) {
		return store.Act{Seq: 1, ID: "desk-1", Device: "desk", DeviceSeq: 1, At: time.UnixMilli(1).UTC(), Received: time.UnixMilli(1).UTC(), Kind: store.ActImport},
			store.ActBody{
				Revisions: []store.Mark{mark(store.KindShop, "shop", 1), mark(store.KindProduct, "bag", 1)},
				Order:     []store.Order{{Kind: store.KindProduct, Slugs: []string{"bag"}}},
				ToMake:    &[]store.Make{{Product: "bag", Bags: 1}},
			}
	}
	for _, c := range []struct {
		name, want string
		spoil      func(*store.Act, *store.ActBody)
	}{
		{"sound", "", func(*store.Act, *store.ActBody) {}},
		{"a first act that is not 1", "act 2 follows act 0", func(a *store.Act, _ *store.ActBody) { a.Seq = 2 }},
		{"a device that skips", "entry 2 of device desk follows entry 0", func(a *store.Act, _ *store.ActBody) { a.DeviceSeq = 2 }},
		{"no id", "its id is missing", func(a *store.Act, _ *store.ActBody) { a.ID = "" }},
		{"a kind not known", "no kind of act", func(a *store.Act, _ *store.ActBody) { a.Kind = "bake" }},
		{"corrects itself", "which is not before it", func(a *store.Act, _ *store.ActBody) { a.Corrects = 1 }},
		{"no time", "needs the time", func(a *store.Act, _ *store.ActBody) { a.At = time.UnixMilli(0) }},
		{"half a millisecond", "whole milliseconds", func(a *store.Act, _ *store.ActBody) { a.Received = a.Received.Add(time.Microsecond) }},
		{"a revision that skips", "revision number 2 follows 0", func(_ *store.Act, b *store.ActBody) { b.Revisions[1].N = 2 }},
		{"a thing of no kind", "no kind of thing", func(_ *store.Act, b *store.ActBody) { b.Revisions[1].Kind = "biscuit" }},
		{"a slug that is not plain", "cannot be kept", func(_ *store.Act, b *store.ActBody) { b.Revisions[1].Slug = "Bag" }},
		{"a second shop", `is "shop", not "other"`, func(_ *store.Act, b *store.ActBody) { b.Revisions[0].Slug = "other" }},
		{"another kind's body", "not the definition of a glass", func(_ *store.Act, b *store.ActBody) { b.Revisions[1].Kind = store.KindGlass }},
		{"no order", "an order of the product list", func(_ *store.Act, b *store.ActBody) { b.Order = nil }},
		{"a stranger in the order", "an order of the product list", func(_ *store.Act, b *store.ActBody) { b.Order[0].Slugs = []string{"bag", "jar"} }},
		{"twice in the order", "an order of the product list", func(_ *store.Act, b *store.ActBody) { b.Order[0].Slugs = []string{"bag", "bag"} }},
		{"retired and not there", "retires or brings back what it cannot", func(_ *store.Act, b *store.ActBody) { b.Retired = []store.Name{{Kind: "hook", Slug: "h"}} }},
		{"back and never away", "retires or brings back what it cannot", func(_ *store.Act, b *store.ActBody) { b.Back = []store.Name{bag} }},
		{"to make what is not there", "which is not there", func(_ *store.Act, b *store.ActBody) { (*b.ToMake)[0].Product = "jar" }},
		{"to make what is retired", "which is not there", func(_ *store.Act, b *store.ActBody) {
			b.Retired, b.Order[0].Slugs = []store.Name{bag}, []string{}
		}},
	} {
		a, body := sound()
		c.spoil(&a, &body)
		text, err := body.Encode()
		if err != nil {
			t.Fatal(err)
		}
		a.Body, a.PrevHash = text, store.FirstHash
		a.Hash = store.HashAct(a)
		s := store.NewState()
		problems := s.Act(a)
		for i, m := range body.Revisions {
			kind := []string{store.KindShop, store.KindProduct}[i]
			r := store.Revision{ID: int64(i + 1), Kind: m.Kind, Slug: m.Slug, N: m.N, SHA256: m.SHA256, Act: a.Seq, Body: bodyOf(kind)}
			problems = append(problems, s.Revision(r)...)
		}
		problems = append(problems, s.Settle()...)
		if c.want == "" && len(problems) > 0 || c.want != "" && !slices.ContainsFunc(problems, func(p string) bool { return strings.Contains(p, c.want) }) {
			t.Errorf("%s: %q, want %q", c.name, problems, c.want)
		}
	}
}
