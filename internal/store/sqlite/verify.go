package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"slabside/internal/fault"
	"slabside/internal/store"
)

// Verify implements store.Keeper.
func (k *Keeper) Verify(ctx context.Context) (store.Audit, error) {
	var v verifier
	err := k.read(ctx, "check the shop book", func(tx *sql.Tx) error {
		v = verifier{ctx: ctx, tx: tx, state: store.NewState(), refs: map[int64][]string{}}
		for _, step := range []func() error{v.file, v.log, v.things, v.uses, v.batches, v.lots, v.jots, v.attachments, v.readings, v.beside} {
			if err := step(); err != nil {
				return err
			}
		}
		return nil
	})
	return v.audit, err
}

// verifier compares the tables with the log.
type verifier struct {
	ctx   context.Context
	tx    *sql.Tx
	state *store.State
	last  store.ActBody
	was   []store.Make       // the lines to make before the last act
	refs  map[int64][]string // what each revision's body says it uses
	audit store.Audit
}

func (v *verifier) say(where, format string, a ...any) {
	v.audit.Problems = append(v.audit.Problems, store.Problem{Where: where, Text: fmt.Sprintf(format, a...)})
}

func (v *verifier) sayAll(where string, texts []string) {
	for _, t := range texts {
		v.say(where, "%s", t)
	}
}

// file runs the engine's own checks.
func (v *verifier) file() error {
	err := each(v.ctx, v.tx, "PRAGMA integrity_check(20)", nil, func(scan func(...any) error) error {
		var found string
		if err := scan(&found); err != nil {
			return err
		}
		if found != "ok" {
			v.say("file", "%s", found)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return each(v.ctx, v.tx, "PRAGMA foreign_key_check", nil, func(scan func(...any) error) error {
		var table, parent string
		var row, key any
		if err := scan(&table, &row, &parent, &key); err != nil {
			return err
		}
		v.say("table "+table, "row %v refers to a row of %s that is not there", row, parent)
		return nil
	})
}

// log goes through the acts and their revisions.
func (v *verifier) log() error {
	revs, err := openRevisions(v.ctx, v.tx)
	if err != nil {
		return err
	}
	defer revs.Close()
	err = eachAct(v.ctx, v.tx, 0, math.MaxInt32, func(a store.Act) error {
		where := fmt.Sprintf("act %d", a.Seq)
		v.was = v.state.ToMake
		v.sayAll(where, v.state.Act(a))
		v.last = v.state.Body()
		if err := revs.upTo(a.Seq, v.revision); err != nil {
			return err
		}
		if err := v.attachment(where); err != nil {
			return err
		}
		v.sayAll(where, v.state.Settle())
		v.audit.Acts++
		return nil
	})
	if err != nil {
		return err
	}
	v.audit.Head, v.audit.Hash = store.Head(v.state.Seq), v.state.Hash
	return revs.upTo(math.MaxInt64, v.revision)
}

func (v *verifier) revision(r store.Revision) error {
	where := fmt.Sprintf("revision %d", r.ID)
	v.sayAll(where, v.state.Revision(r))
	v.audit.Revisions++
	refs, err := store.Refs(r.Kind, r.Body)
	if err != nil {
		return nil // a body that cannot be read has been told of
	}
	for _, ref := range refs {
		v.refs[r.ID] = append(v.refs[r.ID], use(ref.Role, ref.Kind, ref.Slug))
	}
	slices.Sort(v.refs[r.ID])
	return nil
}

func use(role, kind, slug string) string { return role + " " + kind + " " + slug }

// things compares the table of things, and their order, with the log.
func (v *verifier) things() error {
	rows, err := thingRows(v.ctx, v.tx)
	if err != nil {
		return err
	}
	order := map[string][]string{}
	held := map[store.Name]store.Thing{}
	for _, r := range rows {
		held[r.Name] = r.Thing
		if !r.Retired {
			order[r.Kind] = append(order[r.Kind], r.Slug)
		}
	}
	for _, want := range v.state.Things() {
		if have, ok := held[want.Name]; !ok {
			v.say("things", "%s is missing", want.Name)
		} else if have != want {
			v.say("things", "%s is kept as revision %d, retired %t; the log says revision %d, retired %t",
				want.Name, have.N, have.Retired, want.N, want.Retired)
		}
		delete(held, want.Name)
	}
	for _, r := range rows {
		if _, left := held[r.Name]; left {
			v.say("things", "%s is not in the log", r.Name)
		}
	}
	for _, kind := range store.Kinds() {
		if !store.Single(kind) && !slices.Equal(order[kind], v.state.Order(kind)) {
			v.say("things", "the order of the %s list is not the log's", kind)
		}
	}
	return nil
}

// uses compares the table of uses with the bodies of the revisions.
func (v *verifier) uses() error {
	have := map[int64][]string{}
	err := each(v.ctx, v.tx, qAllRefs, nil, func(scan func(...any) error) error {
		var id int64
		var role, kind, slug string
		if err := scan(&id, &role, &kind, &slug); err != nil {
			return err
		}
		have[id] = append(have[id], use(role, kind, slug))
		return nil
	})
	if err != nil {
		return err
	}
	for id := int64(1); id <= v.state.Revisions; id++ {
		slices.Sort(have[id])
		if !slices.Equal(have[id], v.refs[id]) {
			v.say(fmt.Sprintf("revision %d", id), "its uses are kept as [%s]; its content says [%s]",
				strings.Join(have[id], ", "), strings.Join(v.refs[id], ", "))
		}
		delete(have, id)
	}
	if len(have) > 0 {
		v.say("uses", "%d revisions that are not there have uses", len(have))
	}
	return nil
}

// beside compares the book row, the lines to make and the devices with the log.
func (v *verifier) beside() error {
	row, schema, err := bookRow(v.ctx, v.tx)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	if row != v.state.Row {
		v.say("book", "the book's row is not its shop's")
	}
	if version, err := number(v.ctx, v.tx, "user_version"); err != nil {
		return err
	} else if schema != version && v.audit.Acts > 0 {
		v.say("book", "the row says schema %d, the file %d", schema, version)
	}
	lines, err := toMake(v.ctx, v.tx)
	if err != nil {
		return err
	}
	if !slices.Equal(store.Makes(lines), v.state.ToMake) {
		v.say("to make", "the lines to make are not the log's")
	}
	if err := v.before(); err != nil {
		return err
	}
	var devices []string
	err = each(v.ctx, v.tx, qDevices, nil, func(scan func(...any) error) error {
		var id string
		var last int64
		if err := scan(&id, &last); err != nil {
			return err
		}
		devices = append(devices, id)
		if last != v.state.Device(id) {
			v.say("device "+id, "its last entry is kept as %d, the log says %d", last, v.state.Device(id))
		}
		return nil
	})
	if err == nil && !slices.Equal(devices, v.state.Devices()) {
		v.say("devices", "the devices are not the log's")
	}
	return err
}

// before compares the lines to make of before the last act with the log.
func (v *verifier) before() error {
	lines, err := toMakeBefore(v.ctx, v.tx, "")
	var f *fault.Error
	switch {
	case err == nil:
	case !errors.As(err, &f):
		return err
	case f.Kind == fault.KindNotFound:
		return nil
	default:
		v.say("to make before", "the lines to make of before the last act cannot be read")
		return nil
	}
	if v.last.ToMake == nil || !slices.Equal(store.Makes(lines), v.was) {
		v.say("to make before", "the lines to make of before the last act are not the log's")
	}
	return nil
}
