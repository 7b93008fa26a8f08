package trouble_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/trouble"
)

// What is open and closed is the trade's (common practice, no source; metal and glass:
// hard or sharp pieces are actionable, FDA CPG 555.425). Written by hand from the rules
// of the room, not from the table.
func TestOptions(t *testing.T) {
	t.Parallel()
	const hold, reboil, relabel, divert, bin, free = record.OnHold, record.Reboiled, record.Relabel, record.Diverted, record.Binned, record.Free
	known := trouble.Facts{WentIn: []string{"salt"}}
	nut := trouble.Facts{WentIn: []string{"almond paste"}, Brings: []string{"tree nuts"}}
	for name, c := range map[string]struct {
		what []record.Trouble
		f    trouble.Facts
		open []record.Place
	}{
		"grained":                     {[]record.Trouble{record.DidGrain}, trouble.Facts{}, []record.Place{hold, reboil, divert, bin}},
		"scorched":                    {[]record.Trouble{record.DidScorch}, trouble.Facts{}, []record.Place{hold, bin}},
		"too soft":                    {[]record.Trouble{record.TooSoft}, trouble.Facts{}, []record.Place{hold, reboil, relabel, divert, bin, free}},
		"wrong, not known what":       {[]record.Trouble{record.WrongStuff}, trouble.Facts{}, []record.Place{hold, bin}},
		"wrong, no allergen":          {[]record.Trouble{record.WrongStuff}, known, []record.Place{hold, reboil, relabel, divert, bin}},
		"wrong, an allergen":          {[]record.Trouble{record.WrongStuff}, nut, []record.Place{hold, relabel, divert, bin}},
		"wrong, nobody has stated it": {[]record.Trouble{record.WrongStuff}, trouble.Facts{WentIn: []string{"paste"}, Unknown: true}, []record.Place{hold, bin}},
		"metal or glass":              {[]record.Trouble{record.Foreign}, known, []record.Place{hold, bin}},
		"dropped":                     {[]record.Trouble{record.Dropped}, trouble.Facts{}, []record.Place{hold, bin, free}},
		"stopped":                     {[]record.Trouble{record.Stopped}, trouble.Facts{}, []record.Place{hold, reboil, divert, bin, free}},
		"too soft, and metal in it":   {[]record.Trouble{record.TooSoft, record.Foreign}, trouble.Facts{}, []record.Place{hold, bin}},
		"metal in it, and too soft":   {[]record.Trouble{record.Foreign, record.TooSoft}, trouble.Facts{}, []record.Place{hold, bin}},
		"grained, and dropped":        {[]record.Trouble{record.DidGrain, record.Dropped}, trouble.Facts{}, []record.Place{hold, bin}},
		"no trouble":                  {nil, trouble.Facts{}, nil},
	} {
		var open []record.Place
		for _, o := range trouble.Options(c.what, c.f) {
			if o.Why == "" || o.Key == "" {
				t.Errorf("%s, %s: it is not said why", name, o.As)
			}
			if o.Open {
				open = append(open, o.As)
			}
			if o.Open != (len(o.Reasons) > 0) {
				t.Errorf("%s, %s: open %v, and reasons %q", name, o.As, o.Open, o.Reasons)
			}
		}
		if !slices.Equal(open, c.open) {
			t.Errorf("%s: open %v, want %v", name, open, c.open)
		}
	}
}

// A stopped boil waits between 105 and 115 °C (practice: the hold point), printed in the
// reader's unit; one that has left the fire is dissolved.
func TestStopped(t *testing.T) {
	t.Parallel()
	why := func(f trouble.Facts) string {
		o, _ := trouble.Allowed(trouble.Options([]record.Trouble{record.Stopped}, f), record.Reboiled)
		return o.Why
	}
	if got := why(trouble.Facts{Units: q.Reader(q.Metric)}); !strings.Contains(got, "105–115 °C") {
		t.Errorf("in the kettle: %s", got)
	}
	if got := why(trouble.Facts{Units: q.Reader(q.US)}); !strings.Contains(got, "221–239 °F") {
		t.Errorf("in °F: %s", got)
	}
	if got := why(trouble.Facts{Sours: true}); !strings.Contains(got, "goes on inverting") {
		t.Errorf("with tartar: %s", got)
	}
	if got := why(trouble.Facts{Lifted: true, Sours: true}); !strings.Contains(got, "dissolve it in water") || strings.Contains(got, "boil on") {
		t.Errorf("after the lift: %s", got)
	}
}

// What is done at once: people first, the rolls stopped before anything is picked out,
// nobody leans over; and the four troubles that hold a batch by themselves.
func TestAtOnce(t *testing.T) {
	t.Parallel()
	hold := []record.Trouble{record.DidGrain, record.DidScorch, record.WrongStuff, record.Foreign}
	for _, x := range record.Troubles() {
		a := trouble.Of(x)
		if a.Holds != slices.Contains(hold, x) {
			t.Errorf("%s: holds %v", x, a.Holds)
		}
		if n := len(a.Now); n < 4 || n > 7 {
			t.Errorf("%s: %d lines for thirty seconds", x, n)
		}
		for _, line := range a.Now {
			if strings.Contains(line, "safe") || strings.Contains(line, "cool enough") || !strings.HasSuffix(line, ".") && !strings.HasSuffix(line, "?") {
				t.Errorf("%s: %q", x, line)
			}
		}
		all := strings.Join(a.Now, " ")
		if pick := strings.Index(all, "pick"); pick >= 0 && !strings.Contains(all[:pick], "isolate") {
			t.Errorf("%s: something is picked out before the rolls are isolated", x)
		}
	}
	if a := trouble.Of("bored"); a.Now != nil || a.Holds {
		t.Errorf("of a trouble that is none: %+v", a)
	}
}

func kept(list ...record.Entry) record.Record {
	var out []record.Kept
	for i, e := range list {
		e.Batch = "2026-03-14-1"
		out = append(out, record.Kept{Entry: e, Act: int64(i + 1)})
	}
	return record.Fold(out)
}

func washed(s record.Surface, how record.Clean) record.Entry {
	return record.Entry{Cleaned: &record.Cleaned{Surface: s, Kind: how, By: "Ada"}}
}

// Only a wash that came after the trouble counts, of each surface that the room has.
func TestUnwashed(t *testing.T) {
	t.Parallel()
	grained := record.Entry{Troubled: &record.Troubled{What: record.DidGrain}}
	room := []record.Surface{record.OnSlab, record.OnRolls, record.OnKettle, record.OnTools}
	left := func(list ...record.Entry) []record.Surface {
		out, _ := trouble.Unwashed(kept(list...), room)
		return out
	}
	if got := left(washed(record.OnSlab, record.Washed)); got != nil {
		t.Errorf("without a trouble: %v", got)
	}
	if got := left(record.Entry{Troubled: &record.Troubled{What: record.DidScorch}}); got != nil {
		t.Errorf("scorched: %v", got)
	}
	if got := left(washed(record.OnSlab, record.Washed), grained); !slices.Equal(got, room) {
		t.Errorf("washed before: %v", got)
	}
	if got := left(grained, washed(record.OnSlab, record.Wiped), washed(record.OnRolls, record.Washed), washed(record.OnTools, record.AllergenCleaned)); !slices.Equal(got, []record.Surface{record.OnSlab, record.OnKettle}) {
		t.Errorf("a wipe, a wash and a clean: %v", got)
	}
	if got := left(grained, washed(record.OnSlab, record.Washed), grained); !slices.Equal(got, room) {
		t.Errorf("grained again: %v", got)
	}
	all := []record.Entry{grained}
	for _, s := range room {
		all = append(all, washed(s, record.Washed))
	}
	if got := left(all...); got != nil {
		t.Errorf("all washed: %v", got)
	}
}

func est(v, lo, hi float64) *q.Estimate {
	return &q.Estimate{Value: v, Low: lo, High: hi, Basis: q.Estimated}
}
func c(v q.Celsius) *q.Celsius   { return &v }
func k(v q.Kelvins) *q.Kelvins   { return &v }
func f(v q.Fraction) *q.Fraction { return &v }
func min(m float64) *q.Duration  { d := q.Duration(m * float64(time.Minute)); return &d }
func metric(e trouble.Evidence) trouble.Evidence {
	e.Units = q.Reader(q.Metric)
	return e
}

// The ranking: what the record says outright goes before what is on an edge, that before
// what nothing is written of, that before what is spoken against; equal scores as the
// trade looks. Scores are added up by hand with 3, 1 and −2.
func TestCauses_Rank(t *testing.T) {
	t.Parallel()
	for name, x := range map[string]struct {
		what  record.Trouble
		e     trouble.Evidence
		first []string // beginnings of the causes that come first, in order
		score []int    // of these
		last  string   // beginning of the last
		says  string   // stands in the first
	}{
		"nothing written": {record.DidGrain, trouble.Evidence{}, []string{"seed", "grain left", "too little doctor", "the kettle's sides"}, []int{0, 0, 0, 0}, "lifted too wet", ""},
		"grained scraps before a lean sheet": {record.DidGrain, trouble.Evidence{Grain: trouble.RiskHigh, Says: "syrup 8 %", Back: []trouble.Back{{Mass: 0.4, From: "2026-03-13-2", Grained: true}}},
			[]string{"seed", "too little doctor", "grain left"}, []int{3, 3, 0}, "lifted too wet", "400 g of batch 2026-03-13-2 went in, and that batch grained"},
		"a lean sheet before scraps": {record.DidGrain, trouble.Evidence{Grain: trouble.RiskHigh, Says: "syrup 8 %", Back: []trouble.Back{{Mass: 0.4, From: "2026-03-13-2"}}},
			[]string{"too little doctor", "seed", "grain left"}, []int{3, 1, 0}, "", "syrup 8 %"},
		"two scraps, and rich": {record.DidGrain, trouble.Evidence{Grain: trouble.RiskNone, Says: "syrup 40 %", Back: []trouble.Back{{Mass: 0.4}, {Mass: 0.2}}},
			[]string{"seed", "grain left"}, []int{2, 0}, "too little doctor", ""},
		"no wash": {record.DidGrain, trouble.Evidence{Unwashed: []string{"2026-03-14-1"}, Waited: min(6), Slab: min(16), Flame: min(40), Lit: est(1500, 1300, 1700)},
			[]string{"held or worked long", "grain left", "stirred"}, []int{4, 3, 1}, "", "16 min from the pour"},
		"a thin layer": {record.DidScorch, trouble.Evidence{Charge: 3, Whole: 12, Least: 4, Browns: []string{"milk"}, Read: c(152), Sheet: est(152, 151, 153)},
			[]string{"pan too large", "something in it", "long"}, []int{3, 1, 0}, "lifted too hot", "4 kg is the least"},
		"tartaric acid": {record.DidScorch, trouble.Evidence{Charge: 12, Whole: 12, Acids: []string{"Tartaric acid"}},
			[]string{"tartaric", "long"}, []int{3, 0}, "pan too large", "Tartaric acid was weighed into the charge"},
		"lifted early": {record.TooSoft, trouble.Evidence{Read: c(146), Sheet: est(151, 150, 152), GlassOff: k(0.4), GlassSure: 1.5, Humidity: 0.5},
			[]string{"lifted too early", "damp room", "wetter", "water with"}, []int{3, 1, 0, 0}, "the glass reads", "the glass was read at 146 °C, the sheet says 151 °C"},
		"one degree early": {record.TooSoft, trouble.Evidence{Read: c(149.5), Sheet: est(151, 150, 152), GlassOff: k(4.2), GlassSure: 1.6, Glass: "the brass glass"},
			[]string{"the glass reads too high", "lifted too early"}, []int{3, 1}, "", "at its last check the brass glass read 4.2 K too high"},
		"as the sheet says": {record.TooSoft, trouble.Evidence{Read: c(151), Sheet: est(151, 150, 152), Water: est(0.04, 0.037, 0.043), Planned: est(0.024, 0.02, 0.03)},
			[]string{"wetter", "the glass reads"}, []int{3, 0}, "lifted too early", "4 % (3.7–4.3)"},
		"colours": {record.TooSoft, trouble.Evidence{Coloured: f(0.0052), Invert: est(0.18, 0.12, 0.24), Sticky: 0.2}, []string{"water with", "much invert"}, []int{3, 1}, "", "0.52 %"},
		"syrup":   {record.TooSoft, trouble.Evidence{Invert: est(0.3, 0.28, 0.32)}, []string{"lifted too early"}, []int{0}, "", ""},
		"swapped": {record.WrongStuff, trouble.Evidence{Put: []trouble.Put{{Name: "Salt", Instead: "Sugar", Why: "out of it"}}, Picked: []string{"citric acid"}},
			[]string{"weighed in the place", "white powders", "poured"}, []int{3, 1, 0}, "", "Salt was weighed in the place of Sugar: out of it"},
		"two things of the rolls": {record.Foreign, trouble.Evidence{GlassBad: []string{"glass whole after: no"}, RollsBad: []string{"rolls whole after: no", "a chip of bronze"}},
			[]string{"a chip", "a glass", "sieve"}, []int{6, 3, 0}, "", "rolls whole after: no"},
		"heavy":    {record.Dropped, trouble.Evidence{Heavy: 11, PourAlone: 8}, []string{"too heavy"}, []int{1}, "", "above 8 kg two people pour"},
		"by stand": {record.Dropped, trouble.Evidence{Heavy: 11, PourAlone: 8, TiltStand: true}, []string{"too heavy"}, []int{0}, "", ""},
		"light":    {record.Dropped, trouble.Evidence{Heavy: 5, PourAlone: 8}, []string{"a wet", "too heavy"}, []int{0, -2}, "", ""},
		"the stop": {record.Stopped, trouble.Evidence{StopBad: []string{"stop in reach and tried: no"}}, []string{"machine"}, []int{3}, "", "stop in reach"},
	} {
		got := trouble.Causes(x.what, metric(x.e))
		var all []string
		for i, cause := range got {
			all = append(all, cause.What)
			if i < len(x.first) && (!strings.HasPrefix(cause.What, x.first[i]) || cause.Score != x.score[i]) {
				t.Errorf("%s: place %d is %q with %d, want %q with %d", name, i+1, cause.What, cause.Score, x.first[i], x.score[i])
			}
			if cause.Silent() != (cause.Score == 0 && len(cause.Findings) == 0) || cause.Look == "" || cause.Key == "" {
				t.Errorf("%s: %+v", name, cause)
			}
		}
		if last := all[len(all)-1]; !strings.HasPrefix(last, x.last) {
			t.Errorf("%s: %q is last, want %q", name, last, x.last)
		}
		if x.says != "" && (got[0].Silent() || !strings.Contains(got[0].Findings[0].Says, x.says)) {
			t.Errorf("%s: the first says %+v, want %q", name, got[0].Findings, x.says)
		}
	}
}
