package record

import "slabside/internal/fault"

// CookedBack is scraps of an earlier batch that went into the kettle.
type CookedBack struct {
	MassMg int64  `json:"mass_mg"`
	From   string `json:"from,omitempty"` // number of the batch it is of; empty: of none with a record
}

// Made is what came of a batch. What was not looked at is 0. Its masses are apart from
// each other, but for what is kept of them to be cooked back.
type Made struct {
	PouredAt   string `json:"poured_at,omitempty"`   // time of day, "10:10"
	EdgeAt     string `json:"edge_at,omitempty"`     // time of day at which the edge lifted clean
	RolledFrom string `json:"rolled_from,omitempty"` // time of day of the first sheet
	RolledTo   string `json:"rolled_to,omitempty"`   // and of the last

	Turns  int64 `json:"turns,omitempty"` // turns and folds on the slab
	Sheets int64 `json:"sheets,omitempty"`

	Pieces   int64 `json:"pieces,omitempty"`    // sound ones, counted
	SampleN  int64 `json:"sample_n,omitempty"`  // or so many of them
	SampleMg int64 `json:"sample_mg,omitempty"` // weigh this

	SoundMg    int64 `json:"sound_mg,omitempty"`    // sound pieces, finish included
	EndsMg     int64 `json:"ends_mg,omitempty"`     // ends of the bars, cold remnants
	WebMg      int64 `json:"web_mg,omitempty"`      // web and spoiled sheets
	SiftingsMg int64 `json:"siftings_mg,omitempty"` // chips and dust from the sieve
	LeftMg     int64 `json:"left_mg,omitempty"`     // stuck on the slab
	WasteMg    int64 `json:"waste_mg,omitempty"`    // thrown away and in none of the others, as what fell on the floor

	CookBackMg int64 `json:"cook_back_mg,omitempty"` // of ends, web, siftings and what was left: kept to be cooked back

	Scale string `json:"scale,omitempty"` // id
}

// ScrapsMg returns what is not sound and not waste [mg].
func (m Made) ScrapsMg() int64 { return m.EndsMg + m.WebMg + m.SiftingsMg + m.LeftMg }

// RolledScrapsMg returns what rolls and sieve took: ends, web, chips and dust [mg].
func (m Made) RolledScrapsMg() int64 { return m.EndsMg + m.WebMg + m.SiftingsMg }

// MassesMg returns what was weighed of the batch after the lift, that which was [mg].
func (m Made) MassesMg() []int64 {
	var out []int64
	for _, mg := range []int64{m.SoundMg, m.EndsMg, m.WebMg, m.SiftingsMg, m.LeftMg, m.WasteMg} {
		if mg > 0 {
			out = append(out, mg)
		}
	}
	return out
}

// PieceCount returns how many sound pieces there are, counted or by the weight of a
// sample; false if neither is written.
func (m Made) PieceCount() (float64, bool) {
	switch {
	case m.Pieces > 0:
		return float64(m.Pieces), true
	case m.SampleMg > 0 && m.SoundMg > 0:
		return float64(m.SoundMg) / float64(m.SampleMg) * float64(m.SampleN), true
	}
	return 0, false
}

// The widest figures that are meant.
const (
	mostTurns    = 500
	mostSheets   = 2000
	mostPieces   = 1_000_000
	mostSample   = 10_000
	leastPieceMg = 100     // 0.1 g
	mostPieceMg  = 100_000 // 100 g
	roundedMg    = 4       // a mass in pounds is rounded to whole milligrams, each of four
)

func (c CookedBack) check() error {
	if c.MassMg <= 0 || c.MassMg > mostMg {
		return fault.Invalid("%g kg of cook-back cannot be meant", float64(c.MassMg)/1e6).At("cooked_back.mass_mg")
	}
	if c.From != "" && !batchID.MatchString(c.From) {
		return fault.Invalid("%q is no number of a batch", fault.Clip(c.From, fault.Echo)).At("cooked_back.from").WithHint("it is a day and a number, as 2026-11-28-2; leave it out if that batch has no record")
	}
	return nil
}

func (m Made) check() error {
	if m.nothing() {
		return fault.Invalid("nothing is written down of what came of it").At("made").WithHint("the sound pieces on the scale tell most")
	}
	if err := clocks("made", clock{"poured_at", m.PouredAt}, clock{"edge_at", m.EdgeAt}, clock{"rolled_from", m.RolledFrom}, clock{"rolled_to", m.RolledTo}); err != nil {
		return err
	}
	if err := m.checkFigures(); err != nil {
		return err
	}
	if err := m.checkPieces(); err != nil {
		return err
	}
	return fault.Texts("made", m.Scale)
}

// nothing reports whether no figure and no time is written.
func (m Made) nothing() bool {
	m.Scale = ""
	return m == Made{}
}

func (m Made) checkFigures() error {
	for _, f := range []struct {
		field string
		value int64
		most  int64
	}{
		{"turns", m.Turns, mostTurns}, {"sheets", m.Sheets, mostSheets}, {"pieces", m.Pieces, mostPieces}, {"sample_n", m.SampleN, mostSample}, {"sample_mg", m.SampleMg, mostMg},
		{"sound_mg", m.SoundMg, mostMg}, {"ends_mg", m.EndsMg, mostMg}, {"web_mg", m.WebMg, mostMg}, {"siftings_mg", m.SiftingsMg, mostMg},
		{"left_mg", m.LeftMg, mostMg}, {"waste_mg", m.WasteMg, mostMg}, {"cook_back_mg", m.CookBackMg, mostMg},
	} {
		if f.value < 0 || f.value > f.most {
			return fault.Invalid("that much cannot be meant").At("made." + f.field).WithHint("nothing below zero; write the figure as it was counted or weighed")
		}
	}
	if m.CookBackMg > m.ScrapsMg()+roundedMg {
		return fault.Invalid("more is kept to be cooked back than there are scraps").At("made.cook_back_mg").WithHint("write down the ends, web and siftings that it is made of too")
	}
	return nil
}

func (m Made) checkPieces() error {
	switch {
	case (m.SampleN > 0) != (m.SampleMg > 0):
		return fault.Invalid("pieces are counted out of a sample and not weighed, or weighed and not counted").At("made.sample_n").WithHint("say both, or leave both out")
	case m.Pieces > 0 && m.SampleN > 0:
		return fault.Invalid("the pieces are given by count and by weight").At("made.pieces").WithHint("leave one out")
	case m.SampleN > 0 && m.SoundMg == 0:
		return fault.Invalid("a sample of the pieces is weighed, all of them are not").At("made.sound_mg")
	case m.SampleMg > m.SoundMg && m.SoundMg > 0:
		return fault.Invalid("the sample weighs more than all the pieces").At("made.sample_mg")
	}
	if n, ok := m.PieceCount(); ok && m.SoundMg > 0 {
		if each := float64(m.SoundMg) / n; !within(each, leastPieceMg, mostPieceMg) {
			return fault.Invalid("a piece does not weigh %.4g g", each/1e3).At("made.sound_mg").WithHint("look at the count and the weight again")
		}
	}
	return nil
}
