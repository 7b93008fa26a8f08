package app

import (
	"errors"
	"strings"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// BeginAsked is a batch to begin as a person writes it: what is nil or empty was left
// out.
type BeginAsked struct {
	Recipe, On, Batch, Kettle, Glass string
	Charge                           *q.Kilograms
	Corrects                         int64 // act; 0: none
}

// Request refuses what cannot be meant. Dash is written before the names in faults.
func (a BeginAsked) Request(dash string) (BeginRequest, error) {
	switch {
	case a.Corrects == 0 && a.Recipe == "":
		return BeginRequest{}, fault.Invalid("it is not said what is boiled").At(dash + "recipe").WithHint("name a recipe of the shop book")
	case a.Corrects != 0 && a.Batch == "":
		return BeginRequest{}, fault.Invalid("%scorrects without %sbatch", dash, dash).WithHint("name the batch whose beginning is corrected")
	case a.Charge != nil && !(*a.Charge > 0):
		return BeginRequest{}, fault.Invalid("%scharge is not above zero", dash).WithHint("write more than zero, or leave it out for a whole boil")
	}
	return BeginRequest{Recipe: a.Recipe, On: a.On, Batch: a.Batch, Kettle: a.Kettle, Glass: a.Glass, Charge: or(a.Charge, 0), Corrects: a.Corrects}, nil
}

// BeginFault names what was asked for instead of the field of the record it fills, with
// dash before it.
func BeginFault(err error, dash string) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	switch name := strings.TrimPrefix(f.Field, "begun."); name {
	case "recipe", "on", "batch", "kettle", "glass", "charge", "corrects":
		return f.At(dash + name)
	case "charge_mg":
		return f.At(dash + "charge")
	case "begun":
		return f.At(dash + "batch")
	}
	return err
}
