package store

import "slabside/internal/care"

var careJournal = register(Journal[care.Entry]{Name: "care", Follow: care.Follow, Row: care.RowOf})

// Care is the journal of the care of the room's things.
func Care() Journal[care.Entry] { return careJournal }
