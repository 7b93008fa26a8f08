package web

import (
	"net/http"
	"strings"

	"slabside/internal/app"
	"slabside/internal/supply"
)

// What is sent to write to the ledger of a lot of packaging, gas or consumables. Amounts
// are in the unit of the supply: pieces, or milligrams. Corrects is the act of the entry
// that it stands in place of, 0 for none.
type (
	// APISupplyReceive takes in a delivery; of a correction what is left out stays as it was.
	APISupplyReceive struct {
		Why         string `json:"why,omitempty"`
		Corrects    int64  `json:"corrects_act,omitempty"`
		Supply      string `json:"supply,omitempty"`
		Amount      int64  `json:"amount,omitempty"`
		Supplier    string `json:"supplier,omitempty"` // left out: the shop book's
		SupplierLot string `json:"supplier_lot,omitempty"`
		BestBefore  string `json:"best_before,omitempty"`
		DeclaredOn  string `json:"declared_on,omitempty"`
		Certificate string `json:"certificate,omitempty"`
		Note        string `json:"note,omitempty"`
		Waits       string `json:"waits,omitempty"`
	}
	// APISupplyUse takes something of a lot.
	APISupplyUse struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		supply.Used
	}
	// APISupplyWaste throws something of a lot away, or sends it back.
	APISupplyWaste struct {
		Corrects int64 `json:"corrects_act,omitempty"`
		supply.Wasted
	}
	// APISupplyCount says what a count found.
	APISupplyCount struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		supply.Counted
	}
)

// supplyEndpoints are what there is of packaging, gas and consumables, and what is done
// with it.
func (s *server) supplyEndpoints() []endpoint {
	write := func(kind, summary, body string, do func(c *call) (any, error)) endpoint {
		return endpoint{path: "/supplies/{lot}/" + kind, put: &operation{summary: summary, answer: "supply-lot", body: body, makes: kind == "received", note: kind != "placed", do: do}}
	}
	return []endpoint{
		{path: "/supplies", get: &operation{summary: "What there is of packaging, gas and consumables, in the order of the walk: how long it lasts, what is to be ordered.", answer: "supplies", do: s.getSupplies,
			params: []param{{name: "date", help: "The day; left out: today.", example: "2026-11-28"}}}},
		{path: "/supplies/{lot}", get: &operation{summary: "The ledger of one lot, and the bags that were packed in it.", answer: "supply-lot", do: s.getSupply}},
		write("received", "Takes in a delivery under a number that is free, or puts one right.", "write-supply-received", s.putSupplyReceived),
		write("hold", "Freezes a lot at once, and all bags that were packed in it. A lot that is on hold stays so.", "write-hold", s.putSupplyHold),
		write("placed", "Says what may be done with a lot: releases it, puts it in quarantine, condemns it.", "write-placed", s.putSupplyPlaced),
		write("used", "Takes something of a lot that may be used; what bags take is written where they are packed.", "write-supply-used", s.putSupplyUsed),
		write("wasted", "Throws something of a lot away, or sends it back.", "write-supply-wasted", s.putSupplyWasted),
		write("counted", "Writes down what a count found; what is missing stands as unaccounted.", "write-supply-counted", s.putSupplyCounted),
		write("taken-back", "Takes an entry back.", "take-back", s.putSupplyBack),
		{path: "/open/{product}", get: &operation{summary: "The packaging that goes with a product, and the lots of it that may be opened, the one to take first.", answer: "open", do: func(c *call) (any, error) {
			if err := c.query().err(); err != nil {
				return nil, err
			}
			list, err := s.shop.OpenFor(c.Context(), c.PathValue("product"))
			return app.OpenList{Open: list}, err
		}}},
	}
}

func (s *server) getSupplies(c *call) (any, error) {
	a := c.query()
	date := a.text("date")
	if err := a.err(); err != nil {
		return nil, err
	}
	return s.shop.Supplies(c.Context(), date)
}

func (s *server) getSupply(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return s.shop.SupplyLot(c.Context(), c.PathValue("lot"))
}

func (s *server) putSupplyReceived(c *call) (any, error) {
	var in APISupplyReceive
	if err := c.read(&in); err != nil {
		return nil, err
	}
	if err := c.query().err(); err != nil {
		return nil, err
	}
	id := c.PathValue("lot")
	if err := supply.CheckID(id); err != nil {
		return nil, err
	}
	_, err := s.shop.ReceiveSupply(c.Context(), app.SupplyReceipt{Lot: id, Supply: in.Supply, Amount: in.Amount, Supplier: in.Supplier, SupplierLot: in.SupplierLot, BestBefore: in.BestBefore,
		DeclaredOn: in.DeclaredOn, Certificate: in.Certificate, Note: in.Note, Waits: in.Waits, Corrects: in.Corrects}, s.who(c.Request), strings.TrimSpace(in.Why))
	if err != nil {
		return nil, sentLot(err)
	}
	if in.Corrects == 0 {
		c.status = http.StatusCreated
	}
	return s.shop.SupplyLot(c.Context(), id)
}

func (s *server) putSupplyHold(c *call) (any, error) {
	var in APIHold
	if err := c.read(&in); err != nil {
		return nil, err
	}
	if err := c.query().err(); err != nil {
		return nil, err
	}
	id := c.PathValue("lot")
	if err := s.shop.HoldSupply(c.Context(), id, strings.TrimSpace(in.Why), s.who(c.Request)); err != nil {
		return nil, sentLot(err)
	}
	return s.shop.SupplyLot(c.Context(), id)
}

func (s *server) putSupplyPlaced(c *call) (any, error) {
	var in APIPlace
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putSupply(c, supply.Entry{Placed: &supply.Placed{As: in.As, Why: in.Placed.Why}}, 0, "")
}

func (s *server) putSupplyUsed(c *call) (any, error) {
	var in APISupplyUse
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putSupply(c, supply.Entry{Used: &in.Used}, in.Corrects, in.Why)
}

func (s *server) putSupplyWasted(c *call) (any, error) {
	var in APISupplyWaste
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putSupply(c, supply.Entry{Wasted: &in.Wasted}, in.Corrects, "")
}

func (s *server) putSupplyCounted(c *call) (any, error) {
	var in APISupplyCount
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putSupply(c, supply.Entry{Counted: &in.Counted}, in.Corrects, in.Why)
}

func (s *server) putSupplyBack(c *call) (any, error) {
	var in APITakeBack
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putSupply(c, supply.Entry{}, in.Corrects, in.Why)
}

// putSupply writes an entry to the ledger of the lot of the address, and answers with it.
func (s *server) putSupply(c *call, e supply.Entry, corrects int64, why string) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	e.Lot = c.PathValue("lot")
	if err := s.shop.WriteSupply(c.Context(), e, corrects, s.who(c.Request), strings.TrimSpace(why)); err != nil {
		return nil, sentLot(err)
	}
	return s.shop.SupplyLot(c.Context(), e.Lot)
}
