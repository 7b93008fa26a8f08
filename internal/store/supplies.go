package store

import "slabside/internal/supply"

var supplyJournal = register(Journal[supply.Entry]{Name: SupplyJournal, Follow: supply.Follow, Row: supply.RowOf})

// SupplyJournal is the name of the journal of what came in of supplies.
const SupplyJournal = "supplies"

// Supplies is the journal of lots of packaging, gas and consumables.
func Supplies() Journal[supply.Entry] { return supplyJournal }
