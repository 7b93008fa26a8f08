-- Schema 4: packs, which products refer to and therefore stand before them.

UPDATE thing_kind SET place = 19 WHERE kind = 'stock';
UPDATE thing_kind SET place = 18 WHERE kind = 'day';
UPDATE thing_kind SET place = 17 WHERE kind = 'product';
INSERT INTO thing_kind (kind, place, single) VALUES ('pack', 16, 0);
