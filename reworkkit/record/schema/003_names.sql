-- Version 3: other names of a point.

-- Names under [points] of board.toml: a reading taken there counts for the net or pin that they name.
CREATE TABLE point_alias (
    name TEXT PRIMARY KEY,         -- name of the test point, canonical
    point TEXT NOT NULL            -- net or pin it stands for, canonical; empty for a ground net
) STRICT, WITHOUT ROWID;
