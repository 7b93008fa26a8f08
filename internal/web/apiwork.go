package web

import (
	"slabside/internal/record"
)

// What is sent to write down the work around a boil. Corrects is the act of the entry
// that it stands in place of, 0 for none.
type (
	// APICookedBack writes down scraps of another batch that went in.
	APICookedBack struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.CookedBack
	}
	// APIChecked writes down what was looked at before the flame.
	APIChecked struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.Checked
	}
	// APIMade writes down what came of it.
	APIMade struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.Made
	}
	// APIFound writes down a find.
	APIFound struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.Found
	}
	// APIAfter writes down what was looked at after the last sheet.
	APIAfter struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.After
	}
	// APICleaned writes down a surface that was cleaned.
	APICleaned struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.Cleaned
	}
	// APITasted writes down what is said of the sweets.
	APITasted struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.Tasted
	}
	// APISigned signs a record as it was read.
	APISigned struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.Signed
	}
)

// workEndpoints write down the work around a boil.
func (s *server) workEndpoints() []endpoint {
	return []endpoint{
		writes("cooked-back", "Writes down scraps of another batch that went into the kettle; as often as it happens.", func(c *call) (any, error) {
			return putPart(s, c, func(in *APICookedBack) (record.Entry, int64, string) {
				return record.Entry{CookedBack: &in.CookedBack}, in.Corrects, in.Why
			})
		}),
		writes("checked", "Writes down what was looked at before the flame, all of it at once.", func(c *call) (any, error) {
			return putPart(s, c, func(in *APIChecked) (record.Entry, int64, string) {
				return record.Entry{Checked: &in.Checked}, in.Corrects, in.Why
			})
		}),
		writes("made", "Writes down what came of it, by count and by weight. What was not looked at is left out.", func(c *call) (any, error) {
			return putPart(s, c, func(in *APIMade) (record.Entry, int64, string) {
				return record.Entry{Made: &in.Made}, in.Corrects, in.Why
			})
		}),
		writes("found", "Writes down metal, glass or the like that was found; as often as it happens.", func(c *call) (any, error) {
			return putPart(s, c, func(in *APIFound) (record.Entry, int64, string) {
				return record.Entry{Found: &in.Found}, in.Corrects, in.Why
			})
		}),
		writes("after", "Writes down what was looked at after the last sheet.", func(c *call) (any, error) {
			return putPart(s, c, func(in *APIAfter) (record.Entry, int64, string) {
				return record.Entry{After: &in.After}, in.Corrects, in.Why
			})
		}),
		writes("cleaned", "Writes down a surface that was cleaned, and who verified it; as often as it happens.", func(c *call) (any, error) {
			return putPart(s, c, func(in *APICleaned) (record.Entry, int64, string) {
				return record.Entry{Cleaned: &in.Cleaned}, in.Corrects, in.Why
			})
		}),
		writes("tasted", "Writes down what is said of the sweets; as often as it happens.", func(c *call) (any, error) {
			return putPart(s, c, func(in *APITasted) (record.Entry, int64, string) {
				return record.Entry{Tasted: &in.Tasted}, in.Corrects, in.Why
			})
		}),
		writes("signed", "Signs the record as it was read: refused if it was written to since.", func(c *call) (any, error) {
			return putPart(s, c, func(in *APISigned) (record.Entry, int64, string) {
				return record.Entry{Signed: &in.Signed}, in.Corrects, in.Why
			})
		}),
	}
}

// writes is the address of a kind of entry, whose schema is of its name.
func writes(kind, summary string, do func(c *call) (any, error)) endpoint {
	return endpoint{path: "/records/{batch}/" + kind, put: &operation{summary: summary, answer: "record", body: "write-" + kind, note: true, do: do}}
}

// putPart reads what was sent and writes the entry that it is.
func putPart[T any](s *server, c *call, entry func(in *T) (e record.Entry, corrects int64, why string)) (any, error) {
	var in T
	if err := c.read(&in); err != nil {
		return nil, err
	}
	e, corrects, why := entry(&in)
	return s.putEntry(c, e, corrects, why)
}
