package cli

import (
	"context"
	"encoding/json"
	"io"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// actLine is an act with its body, as a JSON line.
type actLine struct {
	store.Act
	Body json.RawMessage `json:"body"`
}

func exportActs(ctx context.Context, k store.Keeper, w io.Writer) error {
	enc := json.NewEncoder(w)
	for after := int64(0); ; {
		acts, err := k.Acts(ctx, after, 1000)
		if err != nil {
			return err
		}
		if len(acts) == 0 {
			return nil
		}
		for _, a := range acts {
			line := actLine{Act: a, Body: a.Body}
			if !json.Valid(a.Body) {
				line.Body, _ = json.Marshal(string(a.Body))
			}
			if err := enc.Encode(line); err != nil {
				return fault.Internal(err, "the log could not be written")
			}
			after = a.Seq
		}
	}
}

func exportRecipes(b *book.Book, w io.Writer) error {
	enc := json.NewEncoder(w)
	for _, r := range b.Recipes {
		if err := enc.Encode(r); err != nil {
			return fault.Internal(err, "the recipes could not be written")
		}
	}
	return nil
}
