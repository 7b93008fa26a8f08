package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"slabside/internal/fault"
	"slabside/internal/store"
)

// Attach implements store.Keeper.
func (k *Keeper) Attach(ctx context.Context, a store.Attachment, data []byte, m store.Meta) (store.Head, error) {
	err := store.CheckMeta(m)
	if err == nil {
		err = store.CheckData(a, data)
	}
	if err != nil {
		return 0, err
	}
	var head store.Head
	err = k.write(ctx, "attach a file", func(w *writer) error {
		if done, err := w.again(m.Tap); done || err != nil {
			head = w.head
			return err
		}
		if err := w.mayAttach(a); err != nil {
			return err
		}
		var was []byte
		err := w.tx.QueryRowContext(ctx, qAttachment, a.SHA256).Scan(&was)
		if errors.Is(err, sql.ErrNoRows) {
			err = w.Attachment(a.SHA256, data)
		}
		if err != nil {
			return err
		}
		head, err = w.do(store.ActAttach, m, store.ActBody{Attachment: &a}, nil, nil)
		return err
	})
	if err != nil {
		return 0, err
	}
	return head, nil
}

// mayAttach refuses what goes to nothing, or is there.
func (w *writer) mayAttach(a store.Attachment) error {
	var n int
	if err := w.tx.QueryRowContext(w.ctx, qHasNumber, a.Of).Scan(&n); err != nil {
		return err
	}
	if n == 0 {
		return fault.NotFound("there is no batch or lot %q", fault.Clip(a.Of, fault.Echo)).At("of").WithHint("the records and the stores list them")
	}
	kept, err := attached(w.ctx, w.tx, qAttached, a.Of)
	if err != nil {
		return err
	}
	return store.FollowAttachment(kept, a)
}

// Attachment implements store.Sink: it keeps bytes before the act that they belong to
// is settled.
func (w *writer) Attachment(sum string, data []byte) error {
	return w.exec(qAddAttachment, sum, data)
}

// Attachments implements store.Keeper.
func (k *Keeper) Attachments(ctx context.Context, of string) ([]store.KeptAttachment, error) {
	var out []store.KeptAttachment
	err := k.read(ctx, "look for what is attached", func(tx *sql.Tx) (err error) {
		out, err = attached(ctx, tx, qAttached, of)
		return err
	})
	return out, err
}

// AttachmentData implements store.Keeper.
func (k *Keeper) AttachmentData(ctx context.Context, sum string) (store.Attachment, []byte, error) {
	var data []byte
	var is store.Attachment
	err := k.read(ctx, "read what is attached", func(tx *sql.Tx) error {
		first, err := attached(ctx, tx, qFirstAttached, sum)
		if err != nil {
			return err
		}
		if len(first) == 0 {
			return fault.NotFound("there is no such picture or paper")
		}
		is = first[0].Attachment
		return tx.QueryRowContext(ctx, qAttachment, sum).Scan(&data)
	})
	if err != nil {
		return store.Attachment{}, nil, err
	}
	if store.Sum(data) != sum {
		return store.Attachment{}, nil, damaged(k.path)
	}
	return is, data, nil
}

// attached reads attachments with the acts that brought them in.
func attached(ctx context.Context, q querier, query, arg string) ([]store.KeptAttachment, error) {
	var out []store.KeptAttachment
	err := eachEntry(ctx, q, query, []any{arg}, func(a store.Act, body store.ActBody) error {
		if body.Attachment == nil {
			return fmt.Errorf("act %d attaches nothing", a.Seq)
		}
		out = append(out, store.KeepAttachment(a, *body.Attachment))
		return nil
	})
	return out, err
}

// exportAttachment writes the bytes that an act attaches, if they are new.
func exportAttachment(ctx context.Context, q querier, out *store.LineWriter, a store.Act, sums map[string]bool) error {
	body, err := store.DecodeBody(a.Body)
	if err != nil || body.Attachment == nil {
		return fmt.Errorf("the body of act %d cannot be read", a.Seq)
	}
	sum := body.Attachment.SHA256
	if sums[sum] {
		return nil
	}
	sums[sum] = true
	var data []byte
	if err := q.QueryRowContext(ctx, qAttachment, sum).Scan(&data); err != nil {
		return err
	}
	out.Attachment(sum, data)
	return nil
}

// attachment holds the bytes that the act at hand attaches to what it says of them.
func (v *verifier) attachment(where string) error {
	sum := v.state.Wants()
	if sum == "" {
		return nil
	}
	var data []byte
	err := v.tx.QueryRowContext(v.ctx, qAttachment, sum).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil // the act is settled without them, and that is told
	}
	if err != nil {
		return err
	}
	v.sayAll(where, v.state.Attachment(sum, data))
	return nil
}

// attachments compares what is attached to what, and which bytes are kept, with the log.
func (v *verifier) attachments() error {
	have := map[string][]string{}
	err := each(v.ctx, v.tx, qAllAttached, nil, func(scan func(...any) error) error {
		var act int64
		var of, sum string
		err := scan(&act, &of, &sum)
		have[of] = append(have[of], fmt.Sprintf("%d %s", act, sum))
		return err
	})
	if err != nil {
		return err
	}
	for _, of := range v.state.AttachedTo() {
		var want []string
		for _, k := range v.state.Attached(of) {
			want = append(want, fmt.Sprintf("%d %s", k.Act, k.SHA256))
		}
		if !slices.Equal(have[of], want) {
			v.say("attached to "+of, "what is kept as attached is not what the log attaches")
		}
		delete(have, of)
	}
	if len(have) > 0 {
		v.say("attached", "%d numbers have attachments that are not in the log", len(have))
	}
	spare := 0
	err = each(v.ctx, v.tx, qAllAttachments, nil, func(scan func(...any) error) error {
		var sum string
		err := scan(&sum)
		if err == nil && !v.state.HasSum(sum) {
			spare++
		}
		return err
	})
	if spare > 0 {
		v.say("attachments", "%d files are kept that no act attaches", spare)
	}
	return err
}
