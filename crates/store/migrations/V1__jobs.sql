-- Times are microseconds since 1970-01-01 00:00 UTC. Columns named *_words hold text in small letters, for search.
-- The same text runs on SQLite and on PostgreSQL: TEXT and BIGINT only.

CREATE TABLE jobs (
    id TEXT NOT NULL PRIMARY KEY,
    head BIGINT NOT NULL,              -- number of the newest revision
    title TEXT NOT NULL,
    parts TEXT NOT NULL,
    title_words TEXT NOT NULL,         -- title and parts
    findings TEXT NOT NULL,
    findings_words TEXT NOT NULL,
    findings_revision BIGINT NOT NULL, -- the revision the findings belong to; 0: none noted yet
    who TEXT NOT NULL,                 -- who made the newest revision
    created BIGINT NOT NULL,
    changed BIGINT NOT NULL,
    removed BIGINT NOT NULL            -- 1: hidden from search, nothing destroyed
);

CREATE INDEX jobs_by_change ON jobs (changed);

CREATE TABLE revisions (
    job TEXT NOT NULL REFERENCES jobs (id),
    number BIGINT NOT NULL,            -- 1, 2, 3 ... without gaps
    title TEXT NOT NULL,
    text TEXT NOT NULL,
    who TEXT NOT NULL,
    what TEXT NOT NULL,
    at BIGINT NOT NULL,
    PRIMARY KEY (job, number)
);

CREATE TABLE photos (
    id TEXT NOT NULL PRIMARY KEY,
    job TEXT NOT NULL REFERENCES jobs (id),
    name TEXT NOT NULL,
    width BIGINT NOT NULL,
    height BIGINT NOT NULL,
    bytes BIGINT NOT NULL,             -- size of the JPEG itself
    at BIGINT NOT NULL,
    jpeg TEXT NOT NULL                 -- base64
);

CREATE INDEX photos_by_job ON photos (job, at);

CREATE TABLE settings (
    key TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
);

CREATE TABLE sessions (
    token_hash TEXT NOT NULL PRIMARY KEY,
    expires BIGINT NOT NULL            -- seconds since 1970-01-01 00:00 UTC
);
