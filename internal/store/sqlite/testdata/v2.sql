PRAGMA journal_mode = WAL;
PRAGMA application_id = 1181903988;
CREATE TABLE counter (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    rev INTEGER NOT NULL
) STRICT;
CREATE TABLE device (
    id      TEXT PRIMARY KEY,
    name    TEXT NOT NULL,
    token   BLOB UNIQUE,
    revoked INTEGER NOT NULL CHECK (revoked IN (0, 1)),
    paired  INTEGER NOT NULL,
    seen    INTEGER NOT NULL,
    CHECK ((revoked = 1) = (token IS NULL))
) STRICT;
CREATE TABLE feeding_group (
    id       TEXT PRIMARY KEY,
    rev      INTEGER NOT NULL,
    name     TEXT NOT NULL,
    folded   TEXT NOT NULL,
    species  TEXT NOT NULL,
    stage    TEXT NOT NULL,
    born     TEXT NOT NULL,
    animals  INTEGER NOT NULL,
    note     TEXT NOT NULL,
    windows  TEXT NOT NULL,
    archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
    changed  INTEGER NOT NULL
) STRICT;
CREATE TABLE lot (
    id          TEXT PRIMARY KEY,
    rev         INTEGER NOT NULL,
    ref         TEXT NOT NULL,
    code        TEXT NOT NULL,
    folded_code TEXT NOT NULL,
    folded      TEXT NOT NULL,
    source      TEXT NOT NULL,
    bought      TEXT NOT NULL,
    best_before TEXT NOT NULL,
    bought_mg   INTEGER,
    gone        INTEGER NOT NULL CHECK (gone IN (0, 1)),
    note        TEXT NOT NULL,
    made        INTEGER NOT NULL,
    changed     INTEGER NOT NULL
) STRICT;
CREATE TABLE making (
    id          TEXT PRIMARY KEY,
    rev         INTEGER NOT NULL,
    key         TEXT NOT NULL,
    mix         TEXT REFERENCES mix (id),
    mix_name    TEXT NOT NULL,
    mix_version INTEGER NOT NULL,
    shelf       TEXT REFERENCES shelf (id),
    state       TEXT NOT NULL CHECK (state IN ('open', 'finished', 'left')),
    lot         TEXT NOT NULL,
    folded_lot  TEXT NOT NULL,
    folded      TEXT NOT NULL,
    who         TEXT NOT NULL,
    best_before TEXT NOT NULL,
    started     INTEGER NOT NULL,
    finished    INTEGER,
    changed     INTEGER NOT NULL,
    events      INTEGER NOT NULL,
    poured_mg   INTEGER NOT NULL,
    note        TEXT NOT NULL,
    CHECK ((state = 'open') = (finished IS NULL))
) STRICT;
CREATE TABLE making_document (
    making TEXT PRIMARY KEY REFERENCES making (id) ON DELETE CASCADE,
    start  TEXT NOT NULL,
    finish TEXT NOT NULL
) STRICT;
CREATE TABLE making_event (
    making   TEXT NOT NULL REFERENCES making (id) ON DELETE CASCADE,
    seq      INTEGER NOT NULL,
    key      TEXT NOT NULL,
    kind     TEXT NOT NULL,
    ref      TEXT NOT NULL,
    mg       INTEGER NOT NULL CHECK (mg >= 0),
    bowl     INTEGER NOT NULL,
    round    INTEGER NOT NULL,
    lot      TEXT REFERENCES lot (id),
    undoes   TEXT NOT NULL,
    plan     TEXT NOT NULL,
    note     TEXT NOT NULL,
    device   TEXT REFERENCES device (id),
    person   TEXT NOT NULL,
    at       INTEGER NOT NULL,
    took_mg  INTEGER NOT NULL,
    short_mg INTEGER NOT NULL CHECK (short_mg >= 0),
    PRIMARY KEY (making, seq),
    CHECK ((kind = 'take-back') = (undoes != ''))
) STRICT;
CREATE TABLE mix (
    id       TEXT PRIMARY KEY,
    rev      INTEGER NOT NULL,
    name     TEXT NOT NULL,
    folded   TEXT NOT NULL,
    grp      TEXT REFERENCES feeding_group (id),
    shelf    TEXT REFERENCES shelf (id),
    archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
    version  INTEGER NOT NULL,
    made     INTEGER NOT NULL,
    changed  INTEGER NOT NULL,
    at       INTEGER NOT NULL,
    oldest   INTEGER NOT NULL,
    newest   INTEGER NOT NULL,
    CHECK (oldest <= at AND at <= newest)
) STRICT;
CREATE TABLE mix_step (
    mix      TEXT NOT NULL REFERENCES mix (id) ON DELETE CASCADE,
    number   INTEGER NOT NULL,
    document TEXT NOT NULL,
    PRIMARY KEY (mix, number)
) STRICT;
CREATE TABLE mix_version (
    mix      TEXT NOT NULL REFERENCES mix (id) ON DELETE CASCADE,
    number   INTEGER NOT NULL,
    document TEXT NOT NULL,
    note     TEXT NOT NULL,
    made     INTEGER NOT NULL,
    PRIMARY KEY (mix, number)
) STRICT;
CREATE TABLE schema_version (
		id INTEGER PRIMARY KEY AUTOINCREMENT,
		version_id INTEGER NOT NULL,
		is_applied INTEGER NOT NULL,
		tstamp TIMESTAMP DEFAULT (datetime('now'))
	);
CREATE TABLE setting (
    name  TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE shelf (
    id      TEXT PRIMARY KEY,
    rev     INTEGER NOT NULL,
    name    TEXT NOT NULL,
    folded  TEXT NOT NULL,
    place   TEXT NOT NULL,
    note    TEXT NOT NULL,
    own     TEXT NOT NULL,
    changed INTEGER NOT NULL
) STRICT;
CREATE TABLE shelf_item (
    shelf     TEXT NOT NULL REFERENCES shelf (id) ON DELETE CASCADE,
    at        INTEGER NOT NULL,
    ref       TEXT NOT NULL,
    can_have  INTEGER NOT NULL CHECK (can_have IN (0, 1)),
    on_hand   INTEGER,
    price     REAL,
    pack_mg   INTEGER,
    pack_cost REAL,
    note      TEXT NOT NULL,
    PRIMARY KEY (shelf, at)
) STRICT, WITHOUT ROWID;
CREATE INDEX feeding_group_by_name ON feeding_group (folded, name, id);
CREATE INDEX lot_by_code ON lot (folded_code, made, id);
CREATE INDEX lot_by_ref ON lot (ref, made, id);
CREATE INDEX lot_by_time ON lot (made, id);
CREATE UNIQUE INDEX making_by_key ON making (key) WHERE key != '';
CREATE UNIQUE INDEX making_by_lot ON making (folded_lot) WHERE folded_lot != '';
CREATE INDEX making_by_mix ON making (mix, started, id);
CREATE INDEX making_by_shelf ON making (shelf, started, id);
CREATE INDEX making_by_state ON making (state, started, id);
CREATE INDEX making_by_time ON making (started, id);
CREATE INDEX making_event_by_device ON making_event (device) WHERE device IS NOT NULL;
CREATE UNIQUE INDEX making_event_by_key ON making_event (making, key);
CREATE INDEX making_event_by_lot ON making_event (lot, making, kind, key, mg) WHERE lot IS NOT NULL;
CREATE UNIQUE INDEX making_event_undone ON making_event (making, undoes) WHERE undoes != '';
CREATE INDEX mix_by_change ON mix (archived, changed, id);
CREATE INDEX mix_by_group ON mix (grp, archived, changed, id);
CREATE INDEX mix_by_shelf ON mix (shelf);
CREATE INDEX shelf_by_name ON shelf (folded, name, id);
INSERT INTO schema_version (id, version_id, is_applied, tstamp) VALUES (1, 0, 1, '2026-11-25 15:57:51');
INSERT INTO schema_version (id, version_id, is_applied, tstamp) VALUES (2, 1, 1, '2026-11-25 15:57:51');
INSERT INTO schema_version (id, version_id, is_applied, tstamp) VALUES (3, 2, 1, '2026-11-25 15:57:51');
INSERT INTO counter (one, rev) VALUES (1, 24);
INSERT INTO setting (name, value) VALUES ('language', 'en');
INSERT INTO feeding_group (id, rev, name, folded, species, stage, born, animals, note, windows, archived, changed) VALUES ('vum3wfjlgdd5pbqklx33h67py6', 1, 'Long barn, Skerra (invented)', 'long barn skerra (invented)', 'mongolian-gerbil', 'adult', '', 5, 'one shy
', '[[window]]
', 1, 1774944901234567);
INSERT INTO feeding_group (id, rev, name, folded, species, stage, born, animals, note, windows, archived, changed) VALUES ('5ykvh5mlahs3dxvswfntr3uiab', 2, 'Ærø', 'ærø', '', '', '2026-02-28', 0, '', '', 0, 1774944902469134);
INSERT INTO shelf (id, rev, name, folded, place, note, own, changed) VALUES ('wwwslmmcee6pakg45buzvb6gkw', 19, 'Kitchen', 'kitchen', 'Skerra', '', '[[own]]
', 1774944925925907);
INSERT INTO shelf_item (shelf, at, ref, can_have, on_hand, price, pack_mg, pack_cost, note) VALUES ('wwwslmmcee6pakg45buzvb6gkw', 0, 'oat/groats', 1, 1000000, 2.35, 1500000, 2.35, 'old bag');
INSERT INTO shelf_item (shelf, at, ref, can_have, on_hand, price, pack_mg, pack_cost, note) VALUES ('wwwslmmcee6pakg45buzvb6gkw', 1, 'millet/hulled', 0, NULL, NULL, NULL, NULL, '');
INSERT INTO mix (id, rev, name, folded, grp, shelf, archived, version, made, changed, at, oldest, newest) VALUES ('l5e2rh6k65l2lvylxnfz6zhhgw', 9, 'Skerra Winter', 'skerra winter', 'vum3wfjlgdd5pbqklx33h67py6', 'wwwslmmcee6pakg45buzvb6gkw', 0, 2, 1774944904938268, 1774944913580237, 1, 0, 2);
INSERT INTO mix (id, rev, name, folded, grp, shelf, archived, version, made, changed, at, oldest, newest) VALUES ('le7xj76eesmjpb2rcuxsh36rd4', 10, 'It''s ''old''', 'it''s ''old''', NULL, NULL, 1, 0, 1774944914814804, 1774944914814804, 0, 0, 0);
INSERT INTO mix_step (mix, number, document) VALUES ('l5e2rh6k65l2lvylxnfz6zhhgw', 0, 'first
');
INSERT INTO mix_step (mix, number, document) VALUES ('l5e2rh6k65l2lvylxnfz6zhhgw', 1, 'second
');
INSERT INTO mix_step (mix, number, document) VALUES ('l5e2rh6k65l2lvylxnfz6zhhgw', 2, 'third
');
INSERT INTO mix_step (mix, number, document) VALUES ('le7xj76eesmjpb2rcuxsh36rd4', 0, '');
INSERT INTO mix_version (mix, number, document, note, made) VALUES ('l5e2rh6k65l2lvylxnfz6zhhgw', 1, 'first
', 'as first made', 1774944906172835);
INSERT INTO mix_version (mix, number, document, note, made) VALUES ('l5e2rh6k65l2lvylxnfz6zhhgw', 2, 'third
', '', 1774944911111103);
INSERT INTO device (id, name, token, revoked, paired, seen) VALUES ('vncptlok6yf2zrqegxklchcgvt', 'Phone', X'A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5A5', 0, 1774944916049371, 1774944916049371);
INSERT INTO device (id, name, token, revoked, paired, seen) VALUES ('akd5uf7kdvccqgd3cpw4xrpcxp', 'Lost phone', NULL, 1, 1774944917283938, 1774944917283938);
INSERT INTO lot (id, rev, ref, code, folded_code, folded, source, bought, best_before, bought_mg, gone, note, made, changed) VALUES ('ryp5kc43p4coczmeukdsn3we5t', 11, 'oat/groats', 'L-2301/7', 'l 2301 7', 'l 2301 7 grain merchant skerra (invented) oat groats', 'Grain merchant, Skerra (invented)', '2026-03-01', '2027-01-31', 1500000, 0, 'top shelf
', 1774944918518505, 1774944918518505);
INSERT INTO lot (id, rev, ref, code, folded_code, folded, source, bought, best_before, bought_mg, gone, note, made, changed) VALUES ('nht34e2t23olmuc464fpdkq54j', 12, 'millet/hulled', '', '', 'millet hulled', '', '', '', NULL, 1, '', 1774944919753072, 1774944919753072);
INSERT INTO making (id, rev, key, mix, mix_name, mix_version, shelf, state, lot, folded_lot, folded, who, best_before, started, finished, changed, events, poured_mg, note) VALUES ('nhybu3p74zl7y6773tcyinh55a', 23, 'k1', 'l5e2rh6k65l2lvylxnfz6zhhgw', 'Skerra Winter', 2, 'wwwslmmcee6pakg45buzvb6gkw', 'finished', '260331 A', '260331 a', 'skerra winter 260331 a ana', 'Ana', '2026-09-30', 1774944920987639, 1774944929629608, 1774944930864175, 5, 800000, '');
INSERT INTO making (id, rev, key, mix, mix_name, mix_version, shelf, state, lot, folded_lot, folded, who, best_before, started, finished, changed, events, poured_mg, note) VALUES ('hphq3n26walsgfpgfgq67xadti', 24, '', NULL, 'It''s ''gone''', 0, NULL, 'open', '', '', 'it''s ''gone''', '', '', 1774944922222206, NULL, 1774944932098742, 1, 1, '');
INSERT INTO making_document (making, start, finish) VALUES ('nhybu3p74zl7y6773tcyinh55a', '{}
', '{"protein":14}');
INSERT INTO making_document (making, start, finish) VALUES ('hphq3n26walsgfpgfgq67xadti', '{}', '');
INSERT INTO making_event (making, seq, key, kind, ref, mg, bowl, round, lot, undoes, plan, note, device, person, at, took_mg, short_mg) VALUES ('nhybu3p74zl7y6773tcyinh55a', 1, 'p1', 'pour', 'oat/groats', 500000, 1, 1, 'ryp5kc43p4coczmeukdsn3we5t', '', '', '', 'vncptlok6yf2zrqegxklchcgvt', 'Ana', 1774944923456773, 500000, 0);
INSERT INTO making_event (making, seq, key, kind, ref, mg, bowl, round, lot, undoes, plan, note, device, person, at, took_mg, short_mg) VALUES ('nhybu3p74zl7y6773tcyinh55a', 2, 'p2', 'pour', 'oat/groats', 1200000, 1, 1, 'ryp5kc43p4coczmeukdsn3we5t', '', '', '', 'akd5uf7kdvccqgd3cpw4xrpcxp', 'Bo', 1774944924691340, 1000000, 200000);
INSERT INTO making_event (making, seq, key, kind, ref, mg, bowl, round, lot, undoes, plan, note, device, person, at, took_mg, short_mg) VALUES ('nhybu3p74zl7y6773tcyinh55a', 3, 't1', 'take-back', '', 0, 0, 0, NULL, 'p2', '', 'it was the other jar', NULL, '', 1774944925925907, -1000000, 0);
INSERT INTO making_event (making, seq, key, kind, ref, mg, bowl, round, lot, undoes, plan, note, device, person, at, took_mg, short_mg) VALUES ('nhybu3p74zl7y6773tcyinh55a', 4, 'p3', 'pour', 'millet/hulled', 300000, 0, 0, NULL, '', '', '', NULL, '', 1774944927160474, 0, 0);
INSERT INTO making_event (making, seq, key, kind, ref, mg, bowl, round, lot, undoes, plan, note, device, person, at, took_mg, short_mg) VALUES ('nhybu3p74zl7y6773tcyinh55a', 5, 'r1', 'replan', '', 0, 0, 0, NULL, '', '{"lines":[]}', '', NULL, '', 1774944928395041, 0, 0);
INSERT INTO making_event (making, seq, key, kind, ref, mg, bowl, round, lot, undoes, plan, note, device, person, at, took_mg, short_mg) VALUES ('hphq3n26walsgfpgfgq67xadti', 1, 'p1', 'pour', 'oat/groats', 1, 0, 0, NULL, '', '', '', NULL, '', 1774944932098742, 0, 0);
