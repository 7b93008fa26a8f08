package web

import (
	"slices"
	"strings"

	"slabside/internal/app"
	"slabside/internal/caution"
)

// cautionView is a caution as a page shows it. The colour of danger is for what
// can hurt people; what only limits a figure or a claim is shown as a note.
type cautionView struct {
	Text   string
	Danger bool
}

// notes are the fixed cautions about figures, claims and law.
var notes = [...]caution.Code{
	caution.Thermometer, caution.Prediction, caution.NotLive, caution.StationPressure, caution.HighCheck, caution.TradeScale,
	caution.NotLegal, caution.FlavourSurvey, caution.Medicinal, caution.KeepingModel, caution.KeepingRefuse, caution.GrainRisk,
}

// cautionsOf keeps every caution, in its order and its wording. One without a
// fixed wording comes from a model and says where its figure ends.
func cautionsOf(list []app.Caution) []cautionView {
	var out []cautionView
	for _, c := range list {
		code := caution.Code(c.Code)
		out = append(out, cautionView{Text: capital(c.Text), Danger: caution.Known(code) && !slices.Contains(notes[:], code)})
	}
	return out
}

// sentencesOf are cautions that stand as sentences of their own, each with its full stop.
func sentencesOf(list []app.Caution) []cautionView {
	out := cautionsOf(list)
	for i := range out {
		out[i].Text = strings.TrimSuffix(out[i].Text, ".") + "."
	}
	return out
}
