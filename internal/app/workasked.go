package app

import (
	"strings"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// WorkAsked is what a person wants written down of the work around a boil: what is nil or
// empty was not looked at.
type WorkAsked struct {
	Check    []string // "guards=yes", before the flame
	Verified string   // who verified the allergen clean, or what was cleaned

	CookedBack *q.Kilograms // scraps of another batch that went in
	From       string       // its number

	LitAt, LiftedAt, PouredAt, EdgeAt, RolledFrom, RolledTo string // times of day

	Turns, Sheets, Pieces            *int64
	Sample                           *int64       // so many pieces
	SampleMass                       *q.Kilograms // weigh this
	Sound, Ends, Web, Siftings, Left *q.Kilograms
	Waste                            *q.Kilograms
	CookBack                         *q.Kilograms // of them, kept to be cooked back
	RollsAfter, GlassAfter           string       // yes, no, does not apply
	Found, What, Where, Done         string
	Cleaned, How, CleanedBy          string
	Tasted                           []string
	TasteNote                        string
	Sign                             *int64 // the record up to this act
	SignNote                         string
}

// workNames are the names that the work is asked by, by the field of the record.
var workNames = map[string]string{
	"cooked_back.mass_mg": "cooked-back", "cooked_back.from": "from", "checked.checks": "check", "lifted.lit_at": "lit-at", "lifted.lifted_at": "lifted-at",
	"made": "sound", "made.poured_at": "poured-at", "made.edge_at": "edge-at", "made.rolled_from": "rolled-from", "made.rolled_to": "rolled-to", "made.turns": "turns", "made.sheets": "sheets", "made.pieces": "pieces",
	"made.sample_n": "sample", "made.sample_mg": "sample-mass", "made.sound_mg": "sound", "made.ends_mg": "ends", "made.web_mg": "web", "made.siftings_mg": "siftings",
	"made.left_mg": "left", "made.waste_mg": "waste", "made.cook_back_mg": "cook-back", "made.scale": "scale",
	"after": "rolls-after", "after.rolls": "rolls-after", "after.glass": "glass-after", "found.of": "found", "found.what": "what", "found.where": "where", "found.done": "done",
	"cleaned": "cleaned-by", "cleaned.surface": "cleaned", "cleaned.kind": "how", "cleaned.by": "cleaned-by", "cleaned.verified_by": "verified",
	"tasted.words": "tasted", "tasted.note": "taste-note", "signed.through_act": "sign", "signed.note": "sign-note",
}

// given is a flag that says nothing without another.
type given struct {
	name, of string
	given    bool
	there    bool
}

func (w WorkAsked) given() []given {
	allergen := false
	for _, x := range w.Check {
		allergen = allergen || strings.HasPrefix(spaced(x), string(record.AllergenClean))
	}
	found, cleaned := w.Found != "", w.Cleaned != ""
	return []given{
		{"from", "cooked-back", w.From != "", w.CookedBack != nil},
		{"sample-mass", "sample", w.SampleMass != nil, w.Sample != nil},
		{"what", "found", w.What != "", found}, {"where", "found", w.Where != "", found}, {"done", "found", w.Done != "", found},
		{"how", "cleaned", w.How != "", cleaned}, {"cleaned-by", "cleaned", w.CleanedBy != "", cleaned},
		{"verified", "cleaned", w.Verified != "", cleaned || allergen},
		{"sign-note", "sign", w.SignNote != "", w.Sign != nil},
	}
}

// weighed reports whether something that was made was weighed.
func (w WorkAsked) weighed() bool {
	for _, m := range []*q.Kilograms{w.Sound, w.Ends, w.Web, w.Siftings, w.Left, w.Waste, w.CookBack} {
		if m != nil {
			return true
		}
	}
	return false
}

// above are the figures that must be above zero.
func (w WorkAsked) above() []above {
	n := func(name string, v *int64) above { return above{name, float64(or(v, 1))} }
	kg := func(name string, v *q.Kilograms) above { return above{name, float64(or(v, 1))} }
	return []above{
		n("turns", w.Turns), n("sheets", w.Sheets), n("pieces", w.Pieces), n("sample", w.Sample), n("sign", w.Sign),
		kg("cooked-back", w.CookedBack), kg("sample-mass", w.SampleMass), kg("sound", w.Sound), kg("ends", w.Ends), kg("web", w.Web), kg("siftings", w.Siftings),
		kg("left", w.Left), kg("waste", w.Waste), kg("cook-back", w.CookBack),
	}
}

// spaced reads words that are written with hyphens for want of spaces.
func spaced(s string) string { return strings.ReplaceAll(s, "-", " ") }

// entries returns an entry for each kind of thing that is to be written down, in the
// order of the work.
func (w WorkAsked) entries(batch, scale, dash string) ([]record.Entry, error) {
	var out []record.Entry
	add := func(there bool, e record.Entry) {
		if there {
			e.Batch = batch
			out = append(out, e)
		}
	}
	mg := func(m *q.Kilograms) int64 { return or(m, 0).Milligrams() }
	add(w.CookedBack != nil, record.Entry{CookedBack: &record.CookedBack{MassMg: mg(w.CookedBack), From: w.From}})
	checked, err := w.checked(dash)
	if err != nil {
		return nil, err
	}
	add(checked != nil, record.Entry{Checked: checked})
	m := &record.Made{PouredAt: w.PouredAt, EdgeAt: w.EdgeAt, RolledFrom: w.RolledFrom, RolledTo: w.RolledTo, Turns: or(w.Turns, 0), Sheets: or(w.Sheets, 0), Pieces: or(w.Pieces, 0),
		SampleN: or(w.Sample, 0), SampleMg: mg(w.SampleMass), SoundMg: mg(w.Sound), EndsMg: mg(w.Ends), WebMg: mg(w.Web), SiftingsMg: mg(w.Siftings),
		LeftMg: mg(w.Left), WasteMg: mg(w.Waste), CookBackMg: mg(w.CookBack)}
	if *m != (record.Made{}) {
		m.Scale = scale
		add(true, record.Entry{Made: m})
	}
	add(w.Found != "", record.Entry{Found: &record.Found{Of: record.Stuff(w.Found), What: w.What, Where: w.Where, Done: w.Done}})
	add(w.RollsAfter+w.GlassAfter != "", record.Entry{After: &record.After{Rolls: record.Says(spaced(w.RollsAfter)), Glass: record.Says(spaced(w.GlassAfter))}})
	add(w.Cleaned != "", record.Entry{Cleaned: &record.Cleaned{Surface: record.Surface(w.Cleaned), Kind: record.Clean(spaced(w.How)), By: w.CleanedBy, Verified: w.Verified}})
	tasted := &record.Tasted{Words: []record.Word{}, Note: w.TasteNote}
	for _, x := range w.Tasted {
		tasted.Words = append(tasted.Words, record.Word(strings.TrimSpace(x)))
	}
	add(len(w.Tasted) > 0 || w.TasteNote != "", record.Entry{Tasted: tasted})
	add(w.Sign != nil, record.Entry{Signed: &record.Signed{Through: or(w.Sign, 0), Note: w.SignNote}})
	return out, nil
}

// checked reads the answers before the flame; nil if there are none.
func (w WorkAsked) checked(dash string) (*record.Checked, error) {
	if len(w.Check) == 0 {
		return nil, nil
	}
	c := &record.Checked{}
	for _, text := range w.Check {
		item, says, ok := strings.Cut(text, "=")
		if !ok {
			return nil, fault.Invalid("%q is no check with its answer", fault.Clip(text, fault.Echo)).At(dash + "check").WithHint("write it as guards=yes")
		}
		x := record.Check{Item: record.Item(spaced(strings.TrimSpace(item))), Says: record.Says(spaced(strings.TrimSpace(says)))}
		if x.Item == record.AllergenClean {
			x.By = w.Verified
		}
		c.Checks = append(c.Checks, x)
	}
	return c, nil
}
