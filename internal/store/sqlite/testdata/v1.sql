PRAGMA journal_mode = WAL;
PRAGMA application_id = 1181903988;
CREATE TABLE counter (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    rev INTEGER NOT NULL
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
CREATE INDEX mix_by_change ON mix (archived, changed, id);
CREATE INDEX mix_by_group ON mix (grp, archived, changed, id);
CREATE INDEX mix_by_shelf ON mix (shelf);
CREATE INDEX shelf_by_name ON shelf (folded, name, id);
INSERT INTO schema_version (id, version_id, is_applied, tstamp) VALUES (1, 0, 1, '2026-11-25 13:53:45');
INSERT INTO schema_version (id, version_id, is_applied, tstamp) VALUES (2, 1, 1, '2026-11-25 13:53:45');
INSERT INTO counter (one, rev) VALUES (1, 10);
INSERT INTO setting (name, value) VALUES ('language', 'en');
INSERT INTO feeding_group (id, rev, name, folded, species, stage, born, animals, note, windows, archived, changed) VALUES ('q3xbdv2y646burteighjyrx4pu', 1, 'Long barn, Skerra (invented)', 'long barn skerra (invented)', 'mongolian-gerbil', 'adult', '', 5, 'one shy
', '[[window]]
', 1, 1774944901234567);
INSERT INTO feeding_group (id, rev, name, folded, species, stage, born, animals, note, windows, archived, changed) VALUES ('fnodsilddwfluwnw466vl4lvuu', 2, 'Ærø', 'ærø', '', '', '2026-02-28', 0, '', '', 0, 1774944902469134);
INSERT INTO shelf (id, rev, name, folded, place, note, own, changed) VALUES ('opfykkd3rprrfsil2okzzg447v', 3, 'Kitchen', 'kitchen', 'Skerra', '', '[[own]]
', 1774944903703701);
INSERT INTO shelf_item (shelf, at, ref, can_have, on_hand, price, pack_mg, pack_cost, note) VALUES ('opfykkd3rprrfsil2okzzg447v', 0, 'oat/groats', 1, 1500000, 2.35, 1500000, 2.35, 'old bag');
INSERT INTO shelf_item (shelf, at, ref, can_have, on_hand, price, pack_mg, pack_cost, note) VALUES ('opfykkd3rprrfsil2okzzg447v', 1, 'millet/hulled', 0, NULL, NULL, NULL, NULL, '');
INSERT INTO mix (id, rev, name, folded, grp, shelf, archived, version, made, changed, at, oldest, newest) VALUES ('abtew2zrnwohqurgmgzoftmhpf', 9, 'Skerra Winter', 'skerra winter', 'q3xbdv2y646burteighjyrx4pu', 'opfykkd3rprrfsil2okzzg447v', 0, 2, 1774944904938268, 1774944913580237, 1, 0, 2);
INSERT INTO mix (id, rev, name, folded, grp, shelf, archived, version, made, changed, at, oldest, newest) VALUES ('xke4nojzgmgdbkaccj3ay6ixfe', 10, 'It''s ''old''', 'it''s ''old''', NULL, NULL, 1, 0, 1774944914814804, 1774944914814804, 0, 0, 0);
INSERT INTO mix_step (mix, number, document) VALUES ('abtew2zrnwohqurgmgzoftmhpf', 0, 'first
');
INSERT INTO mix_step (mix, number, document) VALUES ('abtew2zrnwohqurgmgzoftmhpf', 1, 'second
');
INSERT INTO mix_step (mix, number, document) VALUES ('abtew2zrnwohqurgmgzoftmhpf', 2, 'third
');
INSERT INTO mix_step (mix, number, document) VALUES ('xke4nojzgmgdbkaccj3ay6ixfe', 0, '');
INSERT INTO mix_version (mix, number, document, note, made) VALUES ('abtew2zrnwohqurgmgzoftmhpf', 1, 'first
', 'as first made', 1774944906172835);
INSERT INTO mix_version (mix, number, document, note, made) VALUES ('abtew2zrnwohqurgmgzoftmhpf', 2, 'third
', '', 1774944911111103);
