package web

import (
	"slices"
	"strings"

	"slabside/internal/entry"
	"slabside/internal/source"
)

// helpOf is the slip of a field of a form: why it is asked, what is accepted, whose
// the usual values are. Nil: what stands under the field says all of it.
func helpOf(n entry.Node) *slip {
	named := slices.ContainsFunc(n.Sources, func(k source.Key) bool { return k != source.Practice })
	if n.Why == "" && !named {
		return nil
	}
	s := slip{Of: strings.ToLower(n.Label), Text: n.Why}
	if n.Limits != "" {
		s.Inputs = []pair{{"accepted", n.Limits}}
	}
	if named {
		s.Sources = sourcesOf(source.Strings(n.Sources...))
	}
	return &s
}
