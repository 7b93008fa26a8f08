package web

import (
	"errors"
	"net/http"
	"strings"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
)

// What is sent to write to the ledger of a lot. Corrects is the act of the entry that it
// stands in place of, 0 for none.
type (
	// APIReceive takes in a delivery; of a correction what is left out stays as it was.
	APIReceive struct {
		Why         string   `json:"why,omitempty"`
		Corrects    int64    `json:"corrects_act,omitempty"`
		Ingredient  string   `json:"ingredient,omitempty"`
		Supplier    string   `json:"supplier,omitempty"`
		SupplierLot string   `json:"supplier_lot,omitempty"`
		BestBefore  string   `json:"best_before,omitempty"`
		MassMg      int64    `json:"mass_mg,omitempty"`
		StatementOn string   `json:"statement_on,omitempty"`
		MayContain  []string `json:"may_contain,omitempty"`
		Certificate string   `json:"certificate,omitempty"`
		Note        string   `json:"note,omitempty"`
		Waits       string   `json:"waits,omitempty"`
	}
	// APIMake makes a lot out of others; of a correction all of it is said again.
	APIMake struct {
		Why        string     `json:"why,omitempty"`
		Corrects   int64      `json:"corrects_act,omitempty"`
		Ingredient string     `json:"ingredient,omitempty"` // left out: that of the first lot
		Of         []lot.Part `json:"of"`
		Carrier    string     `json:"carrier,omitempty"`       // water, neutral oil, its own solvent; left out: none
		CarrierMg  int64      `json:"carrier_mg,omitempty"`    // of it that has no lot; left out: what the strength asks for
		Strength   float64    `json:"strength_frac,omitempty"` // as meant; left out: as it was weighed
		MassMg     int64      `json:"mass_mg,omitempty"`       // that came out; left out: all that went in
		Packets    int        `json:"packets,omitempty"`
		BestBefore string     `json:"best_before,omitempty"`
		Note       string     `json:"note,omitempty"`
	}
	// APIHold freezes a lot; why may come later.
	APIHold struct {
		Why string `json:"why,omitempty"`
	}
	// APIPlace puts a lot where it belongs: usable, quarantine, hold, condemned.
	APIPlace struct{ lot.Placed }
	// APIUse takes something of a lot.
	APIUse struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		lot.Used
	}
	// APIWaste throws something of a lot away, or sends it back; why is why.
	APIWaste struct {
		Corrects int64 `json:"corrects_act,omitempty"`
		lot.Wasted
	}
	// APICount says what a count found.
	APICount struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		lot.Counted
	}
)

// storeEndpoints are what is in the stores and what is done there.
func (s *server) storeEndpoints() []endpoint {
	write := func(kind, summary, body string, do func(c *call) (any, error)) endpoint {
		return endpoint{path: "/stores/{lot}/" + kind, put: &operation{summary: summary, answer: "lot", body: body, makes: kind == "received" || kind == "made", note: kind != "placed", do: do}}
	}
	return []endpoint{
		{path: "/stores", get: &operation{summary: "What is in the stores, in the order of the walk: lots that go out first first, what the day needs, what is short and to be ordered.", answer: "stores", do: s.getStores,
			params: []param{{name: "date", help: "The day; left out: today.", example: "2026-11-28"}}}},
		{path: "/stores/{lot}", get: &operation{summary: "The ledger of one lot.", answer: "lot", do: s.getLot}},
		write("received", "Takes in a delivery under a number that is free, or puts one right.", "write-received", s.putReceived),
		write("made", "Makes a stock solution, or packets weighed beforehand, out of lots under a number that is free, or puts one right: what was taken of each goes off its ledger in the same act.", "write-made-lot", s.putMade),
		write("hold", "Freezes a lot everywhere at once. A lot that is on hold stays so.", "write-hold", s.putHold),
		write("placed", "Says what may be done with a lot: releases it, puts it in quarantine, condemns it.", "write-placed", s.putPlaced),
		write("used", "Takes something of a lot that may be used.", "write-used", s.putUsed),
		write("wasted", "Throws something of a lot away, or sends it back.", "write-wasted", s.putWasted),
		write("counted", "Writes down what a count found; what is missing stands as unaccounted.", "write-counted", s.putCounted),
		write("taken-back", "Takes an entry back.", "take-back", s.putLotBack),
	}
}

func (s *server) getStores(c *call) (any, error) {
	a := c.query()
	date := a.text("date")
	if err := a.err(); err != nil {
		return nil, err
	}
	return s.shop.Stores(c.Context(), date)
}

func (s *server) getLot(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return s.shop.Lot(c.Context(), c.PathValue("lot"))
}

func (s *server) putReceived(c *call) (any, error) {
	var in APIReceive
	if err := c.read(&in); err != nil {
		return nil, err
	}
	if err := c.query().err(); err != nil {
		return nil, err
	}
	id := c.PathValue("lot")
	if err := lot.CheckID(id); err != nil {
		return nil, err
	}
	_, err := s.shop.Receive(c.Context(), app.ReceiveRequest{Lot: id, Ingredient: in.Ingredient, Supplier: in.Supplier, SupplierLot: in.SupplierLot, BestBefore: in.BestBefore,
		Mass: q.Kilograms(float64(in.MassMg) / 1e6), StatementOn: in.StatementOn, MayContain: in.MayContain, Certificate: in.Certificate, Note: in.Note, Waits: in.Waits, Corrects: in.Corrects},
		s.who(c.Request), strings.TrimSpace(in.Why))
	if err != nil {
		return nil, sentLot(err)
	}
	if in.Corrects == 0 {
		c.status = http.StatusCreated
	}
	return s.shop.Lot(c.Context(), id)
}

func (s *server) putMade(c *call) (any, error) {
	var in APIMake
	if err := c.read(&in); err != nil {
		return nil, err
	}
	if err := c.query().err(); err != nil {
		return nil, err
	}
	id := c.PathValue("lot")
	if err := lot.CheckID(id); err != nil {
		return nil, err
	}
	_, err := s.shop.Make(c.Context(), app.MakeRequest{Lot: id, Ingredient: in.Ingredient, Of: in.Of, Carrier: in.Carrier, CarrierMass: kilogramsOf(in.CarrierMg), Strength: q.Fraction(in.Strength),
		Mass: kilogramsOf(in.MassMg), Packets: in.Packets, BestBefore: in.BestBefore, Note: in.Note, Corrects: in.Corrects}, s.who(c.Request), strings.TrimSpace(in.Why))
	if err != nil {
		return nil, sentLot(err)
	}
	if in.Corrects == 0 {
		c.status = http.StatusCreated
	}
	return s.shop.Lot(c.Context(), id)
}

func (s *server) putHold(c *call) (any, error) {
	var in APIHold
	if err := c.read(&in); err != nil {
		return nil, err
	}
	if err := c.query().err(); err != nil {
		return nil, err
	}
	id := c.PathValue("lot")
	if err := s.shop.HoldLot(c.Context(), id, strings.TrimSpace(in.Why), s.who(c.Request)); err != nil {
		return nil, sentLot(err)
	}
	return s.shop.Lot(c.Context(), id)
}

func (s *server) putPlaced(c *call) (any, error) {
	var in APIPlace
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLot(c, lot.Entry{Placed: &in.Placed}, 0, "")
}

func (s *server) putUsed(c *call) (any, error) {
	var in APIUse
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLot(c, lot.Entry{Used: &in.Used}, in.Corrects, in.Why)
}

func (s *server) putWasted(c *call) (any, error) {
	var in APIWaste
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLot(c, lot.Entry{Wasted: &in.Wasted}, in.Corrects, "")
}

func (s *server) putCounted(c *call) (any, error) {
	var in APICount
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLot(c, lot.Entry{Counted: &in.Counted}, in.Corrects, in.Why)
}

func (s *server) putLotBack(c *call) (any, error) {
	var in APITakeBack
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLot(c, lot.Entry{}, in.Corrects, in.Why)
}

// putLot writes an entry to the ledger of the lot of the address, and answers with it.
func (s *server) putLot(c *call, e lot.Entry, corrects int64, why string) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	e.Lot = c.PathValue("lot")
	if err := s.shop.WriteLot(c.Context(), e, corrects, s.who(c.Request), strings.TrimSpace(why)); err != nil {
		return nil, sentLot(err)
	}
	return s.shop.Lot(c.Context(), e.Lot)
}

// sentLot names the field of what was sent instead of that of the entry it fills.
func sentLot(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	kind, field, _ := strings.Cut(f.Field, ".")
	switch kind {
	case "received", "placed", "used", "wasted", "counted":
		return f.At(strings.TrimPrefix(field, "made."))
	case "corrects":
		return f.At("corrects_act")
	}
	return err
}
