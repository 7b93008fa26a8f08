-- Schema 4: supplies, which go with packs and products and therefore stand after them.

UPDATE thing_kind SET place = 20 WHERE kind = 'stock';
UPDATE thing_kind SET place = 19 WHERE kind = 'day';
INSERT INTO thing_kind (kind, place, single) VALUES ('supply', 18, 0);
