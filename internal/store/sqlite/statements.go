package sqlite

// Every statement of the package stands in this file, written once for SQLite
// and PostgreSQL alike: arguments first appear in the order $1, $2 …, because
// to SQLite $1 is a name; no LIKE; NULLS FIRST or LAST wherever a column that
// may be null orders; sums cast to bigint. A test holds to this and prepares
// each statement.
const (
	qHead = `SELECT seq, hash FROM act ORDER BY seq DESC LIMIT 1`

	qActs = `SELECT seq, id, device, device_seq, person, at_ms, received_ms, kind, reason, coalesce(corrects_seq, 0), body, prev_hash, hash
FROM act WHERE seq > $1 ORDER BY seq LIMIT $2`

	qAddAct = `INSERT INTO act (seq, id, device, device_seq, person, at_ms, received_ms, kind, reason, corrects_seq, body, prev_hash, hash)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, nullif($10, 0), $11, $12, $13)`

	qDevice = `SELECT last_seq FROM device WHERE id = $1`

	qDevices = `SELECT id, last_seq FROM device WHERE last_seq > 0 ORDER BY id`

	qSetDevice = `INSERT INTO device (id, last_seq, clock_offset_ms) VALUES ($1, $2, $3)
ON CONFLICT (id) DO UPDATE SET last_seq = excluded.last_seq, clock_offset_ms = excluded.clock_offset_ms`

	// qThings gives each thing with its head revision, in the shop's order.
	qThings = `SELECT t.id, t.kind, t.slug, t.place, t.retired, t.head_n, r.sha256
FROM thing t JOIN thing_kind k ON k.kind = t.kind JOIN revision r ON r.thing = t.id AND r.n = t.head_n
ORDER BY k.place, t.place, t.id`

	qHeads = `SELECT t.kind, t.slug, r.body, r.sha256
FROM thing t JOIN thing_kind k ON k.kind = t.kind JOIN revision r ON r.thing = t.id AND r.n = t.head_n
WHERE t.retired = 0 ORDER BY k.place, t.place, t.id`

	qThing = `SELECT id, head_n, retired FROM thing WHERE kind = $1 AND slug = $2`

	qAddThing = `INSERT INTO thing (id, kind, slug, place, retired, head_n)
SELECT coalesce(max(id), 0) + 1, $1, $2, coalesce(max(id), 0) + 1, 0, 1 FROM thing RETURNING id`

	qSetHead = `UPDATE thing SET head_n = $1 WHERE id = $2`

	qSetPlace = `UPDATE thing SET place = $1 WHERE kind = $2 AND slug = $3`

	qSetRetired = `UPDATE thing SET retired = $1 WHERE kind = $2 AND slug = $3`

	qLastRevision = `SELECT coalesce(max(id), 0) FROM revision`

	qAddRevision = `INSERT INTO revision (id, thing, n, body, sha256, act) VALUES ($1, $2, $3, $4, $5, $6)`

	qVersions = `SELECT r.id, t.kind, t.slug, r.n, r.sha256, r.act, r.body, a.person, a.at_ms, a.reason
FROM revision r JOIN thing t ON t.id = r.thing JOIN act a ON a.seq = r.act
WHERE t.kind = $1 AND t.slug = $2 AND ($3 = 0 OR r.n < $3) ORDER BY r.n DESC LIMIT $4`

	qAllRevisions = `SELECT r.id, t.kind, t.slug, r.n, r.sha256, r.act, r.body
FROM revision r JOIN thing t ON t.id = r.thing ORDER BY r.id`

	qAddRef = `INSERT INTO revision_ref (revision, thing, role) VALUES ($1, $2, $3)`

	qAllRefs = `SELECT f.revision, f.role, t.kind, t.slug
FROM revision_ref f JOIN thing t ON t.id = f.thing ORDER BY f.revision, f.role, t.kind, t.slug`

	// qUsers gives what uses a thing in its head revision and is not retired.
	qUsers = `SELECT DISTINCT t.kind, t.slug
FROM revision_ref f JOIN revision r ON r.id = f.revision JOIN thing t ON t.id = r.thing AND t.head_n = r.n
WHERE f.thing = $1 AND t.retired = 0 ORDER BY t.kind, t.slug`

	qToMake = `SELECT t.slug, m.bags, m.must, m.due, m.for_whom FROM to_make m JOIN thing t ON t.id = m.product ORDER BY m.place`

	qClearToMake = `DELETE FROM to_make`

	qAddToMake = `INSERT INTO to_make (place, product, bags, must, due, for_whom) VALUES ($1, $2, $3, $4, $5, $6)`

	qToMakeBefore = `SELECT b.act, b.body FROM to_make_before b JOIN (SELECT max(seq) AS seq FROM act) a ON a.seq = b.act`

	qClearToMakeBefore = `DELETE FROM to_make_before`

	qAddToMakeBefore = `INSERT INTO to_make_before (act, body) VALUES ($1, $2)`

	// qHeadsAt gives each thing as it was after an act, retired or not.
	qHeadsAt = `SELECT t.kind, t.slug, r.body, r.sha256, r.act
FROM thing t JOIN thing_kind k ON k.kind = t.kind JOIN revision r ON r.thing = t.id
WHERE r.n = (SELECT max(n) FROM revision WHERE thing = t.id AND act <= $1) ORDER BY k.place, t.place, t.id`

	qAddBatch = `INSERT INTO batch (id, on_date, n, recipe, glass, begun, stands) VALUES ($1, $2, $3, $4, $5, $6, 1)
ON CONFLICT (id) DO UPDATE SET on_date = excluded.on_date, n = excluded.n, recipe = excluded.recipe, glass = excluded.glass,
    begun = excluded.begun, stands = 1`

	qFallBatch = `UPDATE batch SET stands = 0 WHERE id = $1`

	qAddEntry = `INSERT INTO batch_entry (act, batch, kind) VALUES ($1, $2, $3)`

	qEntries = `SELECT a.seq, a.person, a.at_ms, a.received_ms, a.reason, coalesce(a.corrects_seq, 0), a.body
FROM batch_entry e JOIN act a ON a.seq = e.act WHERE e.batch = $1 ORDER BY e.act`

	qFindBatches = `SELECT b.id FROM batch b JOIN thing r ON r.id = b.recipe JOIN thing g ON g.id = b.glass
WHERE ($1 = '' AND b.stands = 1 OR b.id = $1) AND ($2 = '' OR r.slug = $2) AND ($3 = '' OR g.slug = $3)
    AND ($4 = '' OR b.on_date >= $4) AND ($5 = '' OR b.on_date <= $5)
    AND ($6 = 0 OR b.place IN ('hold', 'reboil', 'bin'))
    AND ($7 = '' OR (b.on_date, b.n, b.id) < (SELECT on_date, n, id FROM batch WHERE id = $7))
ORDER BY b.on_date DESC, b.n DESC, b.id DESC LIMIT $8`

	qPlaceBatch = `UPDATE batch SET place = $1 WHERE id = $2`

	qAllEntries = `SELECT e.act, e.batch, e.kind FROM batch_entry e ORDER BY e.act`

	qAllBatches = `SELECT b.id, b.on_date, b.n, r.slug, g.slug, b.begun, b.stands, b.place
FROM batch b JOIN thing r ON r.id = b.recipe JOIN thing g ON g.id = b.glass ORDER BY b.id`

	qSetLot = `INSERT INTO lot (id, on_date, n, ingredient, best_before, status, received_mg, used_mg, wasted_mg, unaccounted_mg, on_hand_mg, stands)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, 1)
ON CONFLICT (id) DO UPDATE SET ingredient = excluded.ingredient, best_before = excluded.best_before, status = excluded.status,
    received_mg = excluded.received_mg, used_mg = excluded.used_mg, wasted_mg = excluded.wasted_mg,
    unaccounted_mg = excluded.unaccounted_mg, on_hand_mg = excluded.on_hand_mg, stands = 1`

	qFallLot = `UPDATE lot SET stands = 0 WHERE id = $1`

	qAddLotEntry = `INSERT INTO lot_entry (act, lot, kind) VALUES ($1, $2, $3)`

	qLotEntries = `SELECT a.seq, a.person, a.at_ms, a.received_ms, a.reason, coalesce(a.corrects_seq, 0), a.body
FROM lot_entry e JOIN act a ON a.seq = e.act WHERE e.lot = $1 ORDER BY e.act`

	// qFindLots gives lots as they go out: by their date, without one last.
	qFindLots = `SELECT l.id FROM lot l JOIN thing i ON i.id = l.ingredient
WHERE ($1 = '' AND l.stands = 1 OR l.id = $1) AND ($2 = '' OR i.slug = $2) AND ($3 = 0 OR l.on_hand_mg > 0)
    AND ($4 = '' OR l.status = $4)
    AND ($5 = '' OR (l.best_before, l.on_date, l.n, l.id) > (SELECT best_before, on_date, n, id FROM lot WHERE id = $5))
ORDER BY l.best_before, l.on_date, l.n, l.id LIMIT $6`

	qLastLot = `SELECT coalesce(max(n), 0) FROM lot WHERE on_date = $1`

	qAllLotEntries = `SELECT e.act, e.lot, e.kind FROM lot_entry e ORDER BY e.act`

	qAllLots = `SELECT l.id, l.on_date, l.n, i.slug, l.best_before, l.status, l.received_mg, l.used_mg, l.wasted_mg, l.unaccounted_mg, l.on_hand_mg, l.stands
FROM lot l JOIN thing i ON i.id = l.ingredient ORDER BY l.id`

	qSetJots = `INSERT INTO jot_subject (journal, subject, on_date, n, of_id, live, stands) VALUES ($1, $2, $3, $4, $5, $6, $7)
ON CONFLICT (journal, subject) DO UPDATE SET on_date = excluded.on_date, n = excluded.n, of_id = excluded.of_id,
    live = excluded.live, stands = excluded.stands`

	qAddJot = `INSERT INTO jot (act, journal, subject, kind) VALUES ($1, $2, $3, $4)`

	qJots = `SELECT a.seq, a.person, a.at_ms, a.received_ms, a.reason, coalesce(a.corrects_seq, 0), a.body
FROM jot j JOIN act a ON a.seq = j.act WHERE j.journal = $1 AND j.subject = $2 ORDER BY j.act`

	qFindJots = `SELECT s.subject FROM jot_subject s
WHERE s.journal = $1 AND ($2 = '' AND s.stands = 1 OR s.subject = $2) AND ($3 = '' OR s.of_id = $3) AND ($4 = 0 OR s.live = 1)
    AND ($5 = '' OR s.on_date >= $5) AND ($6 = '' OR s.on_date <= $6)
    AND ($7 = '' OR (s.on_date, s.n, s.subject) < (SELECT b.on_date, b.n, b.subject FROM jot_subject b WHERE b.journal = $1 AND b.subject = $7))
ORDER BY s.on_date DESC, s.n DESC, s.subject DESC LIMIT $8`

	qLastJot = `SELECT coalesce(max(n), 0) FROM jot_subject WHERE journal = $1 AND on_date = $2`

	qAllJots = `SELECT j.act, j.journal, j.subject, j.kind FROM jot j ORDER BY j.act`

	qAllJotSubjects = `SELECT s.journal, s.subject, s.on_date, s.n, s.of_id, s.live, s.stands FROM jot_subject s ORDER BY s.journal, s.subject`

	qHasNumber = `SELECT count(*) FROM (SELECT id FROM batch WHERE id = $1 UNION ALL SELECT id FROM lot WHERE id = $1
		UNION ALL SELECT subject AS id FROM jot_subject WHERE journal = 'supplies' AND subject = $1) AS numbers`

	qAddAttachment = `INSERT INTO attachment (sha256, data) VALUES ($1, $2)`

	qAttachment = `SELECT data FROM attachment WHERE sha256 = $1`

	qAllAttachments = `SELECT sha256 FROM attachment ORDER BY sha256`

	qAddAttached = `INSERT INTO attached (act, of_number, sha256) VALUES ($1, $2, $3)`

	qAttached = `SELECT a.seq, a.person, a.at_ms, a.received_ms, a.reason, coalesce(a.corrects_seq, 0), a.body
FROM attached t JOIN act a ON a.seq = t.act WHERE t.of_number = $1 ORDER BY t.act`

	qFirstAttached = `SELECT a.seq, a.person, a.at_ms, a.received_ms, a.reason, coalesce(a.corrects_seq, 0), a.body
FROM attached t JOIN act a ON a.seq = t.act WHERE t.sha256 = $1 ORDER BY t.act LIMIT 1`

	qAllAttached = `SELECT t.act, t.of_number, t.sha256 FROM attached t ORDER BY t.act`

	qHasBatch = `SELECT count(*) FROM batch WHERE id = $1`

	qReadingsAt = `SELECT milli_c, looks_in FROM reading WHERE probe = $1 AND at_ms = $2 ORDER BY n`

	qAddReading = `INSERT INTO reading (probe, at_ms, n, milli_c, looks_in, batch, source, brought_by, received_ms)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`

	qReadings = `SELECT t.kind, t.slug, r.at_ms, r.n, r.milli_c, r.looks_in, r.batch, r.source, r.brought_by, r.received_ms
FROM reading r JOIN thing t ON t.id = r.probe
WHERE ($1 = '' OR t.slug = $1) AND ($2 = '' OR r.looks_in = $2) AND r.at_ms >= $3 AND r.at_ms < $4 AND ($5 = 0 OR r.n = 0)
    AND (r.at_ms, t.slug, r.n) > ($6, $7, $8)
ORDER BY r.at_ms, t.slug, r.n LIMIT $9`

	qBatchReadings = `SELECT t.kind, t.slug, r.at_ms, r.n, r.milli_c, r.looks_in, r.batch, r.source, r.brought_by, r.received_ms
FROM reading r JOIN thing t ON t.id = r.probe
WHERE r.batch = $1 AND ($2 = '' OR t.slug = $2) AND ($3 = '' OR r.looks_in = $3) AND r.at_ms >= $4 AND r.at_ms < $5 AND ($6 = 0 OR r.n = 0)
    AND (r.at_ms, t.slug, r.n) > ($7, $8, $9)
ORDER BY r.at_ms, t.slug, r.n LIMIT $10`

	qAllReadings = `SELECT t.kind, t.slug, r.at_ms, r.n, r.milli_c, r.looks_in, r.batch, r.source, r.brought_by, r.received_ms
FROM reading r JOIN thing t ON t.id = r.probe ORDER BY r.at_ms, t.slug, r.n`

	qAccess = `SELECT body FROM access WHERE id = 1`

	qSetAccess = `INSERT INTO access (id, body) VALUES (1, $1) ON CONFLICT (id) DO UPDATE SET body = excluded.body`

	qBook = `SELECT schema, name, time_zone, units, currency, market FROM book WHERE id = 1`

	qSetSchema = `UPDATE book SET schema = $1`

	qSetBook = `INSERT INTO book (id, schema, name, time_zone, units, currency, market) VALUES (1, $1, $2, $3, $4, $5, $6)
ON CONFLICT (id) DO UPDATE SET schema = excluded.schema, name = excluded.name, time_zone = excluded.time_zone,
    units = excluded.units, currency = excluded.currency, market = excluded.market`
)

// statements lists every statement with its name.
func statements() map[string]string {
	return map[string]string{
		"qHead": qHead, "qActs": qActs, "qAddAct": qAddAct, "qDevice": qDevice, "qDevices": qDevices, "qSetDevice": qSetDevice,
		"qThings": qThings, "qHeads": qHeads, "qThing": qThing, "qAddThing": qAddThing, "qSetHead": qSetHead,
		"qSetPlace": qSetPlace, "qSetRetired": qSetRetired, "qLastRevision": qLastRevision, "qAddRevision": qAddRevision,
		"qVersions": qVersions, "qAllRevisions": qAllRevisions, "qAddRef": qAddRef, "qAllRefs": qAllRefs, "qUsers": qUsers,
		"qToMake": qToMake, "qClearToMake": qClearToMake, "qAddToMake": qAddToMake,
		"qToMakeBefore": qToMakeBefore, "qClearToMakeBefore": qClearToMakeBefore, "qAddToMakeBefore": qAddToMakeBefore,
		"qHeadsAt": qHeadsAt, "qAddBatch": qAddBatch, "qFallBatch": qFallBatch, "qPlaceBatch": qPlaceBatch, "qAddEntry": qAddEntry, "qEntries": qEntries,
		"qFindBatches": qFindBatches, "qAllEntries": qAllEntries, "qAllBatches": qAllBatches,
		"qSetLot": qSetLot, "qFallLot": qFallLot, "qAddLotEntry": qAddLotEntry, "qLotEntries": qLotEntries, "qFindLots": qFindLots,
		"qLastLot": qLastLot, "qAllLotEntries": qAllLotEntries, "qAllLots": qAllLots,
		"qSetJots": qSetJots, "qAddJot": qAddJot, "qJots": qJots, "qFindJots": qFindJots, "qLastJot": qLastJot, "qAllJots": qAllJots,
		"qAllJotSubjects": qAllJotSubjects,
		"qHasNumber":      qHasNumber, "qAddAttachment": qAddAttachment, "qAttachment": qAttachment, "qAllAttachments": qAllAttachments,
		"qAddAttached": qAddAttached, "qAttached": qAttached, "qFirstAttached": qFirstAttached, "qAllAttached": qAllAttached,
		"qHasBatch": qHasBatch, "qReadingsAt": qReadingsAt, "qAddReading": qAddReading, "qReadings": qReadings, "qBatchReadings": qBatchReadings, "qAllReadings": qAllReadings,
		"qAccess": qAccess, "qSetAccess": qSetAccess, "qBook": qBook, "qSetSchema": qSetSchema, "qSetBook": qSetBook,
	}
}
