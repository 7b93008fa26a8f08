package web

import (
	"fmt"
	"net/http"
	"net/url"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// lookBackView is what a check of a glass says of the batches that were read on it.
type lookBackView struct {
	Base     base
	Name     string
	Glass    string // address of its form
	Check    string // what the check found; empty: none found it off
	Since    string
	Rows     []lookBackRow
	Hold     int // so many are to be held
	Cautions []cautionView
}

type lookBackRow struct {
	recordLink
	On, Name     string
	WaterWas     figure
	WaterIs      figure
	StandsWas    figure
	StandsIs     figure
	Advice, Why  string
	Bad, Assumed bool
	Worked       bool // its figures are known
}

func lookBackHref(glass string) string { return "/look-back/" + url.PathEscape(glass) }

func (s *server) lookBack(w http.ResponseWriter, r *http.Request) error {
	res, err := s.shop.LookBack(r.Context(), r.PathValue("glass"))
	if err != nil {
		return err
	}
	u := res.Units
	v := lookBackView{Base: s.base(r, "Looking back from "+res.Name, "/records"), Name: res.Name, Glass: thingHref("glass", res.Glass)}
	if c := res.Check; c != nil {
		word := "high"
		off := q.Kelvins(c.OffK)
		if off < 0 {
			word, off = "low", -off
		}
		v.Check = fmt.Sprintf("On %s, against %s, it read %s too %s, and ± %s is what its class and its checks allow", longDate(c.On), c.Against, u.Difference(off, 1), word, u.Difference(q.Kelvins(c.AllowedK), 1))
		v.Since = "No good check is known before it: every batch that was read on it is looked at"
		if res.LastGood != "" {
			v.Since = "Its last good check was on " + longDate(res.LastGood) + ": every batch since then is looked at"
		}
	}
	for _, x := range res.Batches {
		v.Rows = append(v.Rows, lookBackRowOf(u, x))
		if x.Advice == app.AdviceHold {
			v.Hold++
		}
	}
	for _, c := range res.Cautions {
		v.Cautions = append(v.Cautions, cautionView{Text: sentence(c.Text) + "."})
	}
	return s.render(w, http.StatusOK, "lookback", v)
}

func lookBackRowOf(u q.Reader, x app.LookedBack) lookBackRow {
	row := lookBackRow{recordLink: recordLink{x.Batch, recordHref(x.Batch)}, On: longDate(x.On), Name: x.Name, Advice: x.Advice, Why: sentence(x.Why),
		Bad: x.Advice == app.AdviceHold || x.Advice == app.AdviceSell, Assumed: x.Assumed, Worked: x.Is.WaterFrac != nil}
	if !row.Worked {
		return row
	}
	row.WaterWas, row.WaterIs = figureOf(u.SayPercent(*x.Was.WaterFrac, 1)), figureOf(u.SayPercent(*x.Is.WaterFrac, 1))
	if x.Was.StandsC != nil && x.Is.StandsC != nil {
		row.StandsWas, row.StandsIs = figureOf(u.SayTemperature(*x.Was.StandsC, 0)), figureOf(u.SayTemperature(*x.Is.StandsC, 0))
	}
	return row
}
