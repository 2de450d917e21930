-- +goose Up
-- Times are microseconds since 1970 in UTC. {{id}}, {{bytes}} differ by engine; see migrate.go.
CREATE TABLE account (
  id {{id}},
  name TEXT NOT NULL,
  name_key TEXT NOT NULL UNIQUE,
  password TEXT NOT NULL,
  made_at BIGINT NOT NULL
);

CREATE TABLE attempt (
  name_key TEXT PRIMARY KEY,
  failed BIGINT NOT NULL,
  since BIGINT NOT NULL
);

CREATE TABLE farm (
  id {{id}},
  name TEXT NOT NULL,
  made_at BIGINT NOT NULL
);

CREATE TABLE member (
  farm_id BIGINT NOT NULL REFERENCES farm (id) ON DELETE CASCADE,
  account_id BIGINT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  role TEXT NOT NULL,
  PRIMARY KEY (farm_id, account_id)
);
CREATE INDEX member_account ON member (account_id);

CREATE TABLE invitation (
  id {{id}},
  hash TEXT NOT NULL UNIQUE,
  farm_id BIGINT REFERENCES farm (id) ON DELETE CASCADE,
  role TEXT NOT NULL,
  made_by TEXT NOT NULL,
  expires_at BIGINT NOT NULL
);

CREATE TABLE harvest (
  id {{id}},
  farm_id BIGINT NOT NULL REFERENCES farm (id) ON DELETE CASCADE,
  name TEXT NOT NULL,
  crop TEXT NOT NULL,
  targets TEXT NOT NULL,
  made_at BIGINT NOT NULL
);
CREATE INDEX harvest_farm ON harvest (farm_id);

CREATE TABLE crew_link (
  id {{id}},
  harvest_id BIGINT NOT NULL REFERENCES harvest (id) ON DELETE CASCADE,
  label TEXT NOT NULL,
  hash TEXT NOT NULL UNIQUE,
  made_by TEXT NOT NULL,
  made_at BIGINT NOT NULL,
  expires_at BIGINT NOT NULL,
  revoked_at BIGINT NOT NULL DEFAULT 0
);
CREATE INDEX crew_link_harvest ON crew_link (harvest_id);

CREATE TABLE session (
  hash TEXT PRIMARY KEY,
  account_id BIGINT REFERENCES account (id) ON DELETE CASCADE,
  link_id BIGINT REFERENCES crew_link (id) ON DELETE CASCADE,
  expires_at BIGINT NOT NULL
);
CREATE INDEX session_account ON session (account_id);
CREATE INDEX session_link ON session (link_id);

CREATE TABLE api_token (
  id {{id}},
  account_id BIGINT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  label TEXT NOT NULL,
  hash TEXT NOT NULL UNIQUE,
  made_at BIGINT NOT NULL,
  expires_at BIGINT NOT NULL
);
CREATE INDEX api_token_account ON api_token (account_id);

CREATE TABLE load (
  id {{id}},
  harvest_id BIGINT NOT NULL REFERENCES harvest (id) ON DELETE CASCADE,
  name TEXT NOT NULL,
  field TEXT NOT NULL,
  hybrid TEXT NOT NULL,
  process TEXT NOT NULL,
  settings TEXT NOT NULL,
  at BIGINT NOT NULL,
  at_given BIGINT NOT NULL,          -- 1: at was entered, photos do not move it
  by_name TEXT NOT NULL,
  version BIGINT NOT NULL,
  wanted BIGINT NOT NULL DEFAULT 0,  -- grows when its judgement is out of date
  judged BIGINT NOT NULL DEFAULT 0,  -- wanted at the time of the newest judgement
  thin TEXT NOT NULL DEFAULT '',     -- the document without pieces and checks, JSON
  document {{bytes}}                 -- all of it, JSON in gzip
);
CREATE INDEX load_harvest_at ON load (harvest_id, at, id);

CREATE TABLE photo (
  id TEXT PRIMARY KEY,
  load_id BIGINT NOT NULL REFERENCES load (id) ON DELETE CASCADE,
  blob TEXT NOT NULL UNIQUE,
  file TEXT NOT NULL,
  sha256 TEXT NOT NULL,
  bytes BIGINT NOT NULL,
  uploaded_at BIGINT NOT NULL,
  by_name TEXT NOT NULL,
  uploader TEXT NOT NULL,            -- account:ID or link:ID
  upload_key TEXT NOT NULL,
  state TEXT NOT NULL,
  problem TEXT NOT NULL DEFAULT '',
  run BIGINT NOT NULL DEFAULT 1,     -- grows when it is to be measured again
  poison BIGINT NOT NULL DEFAULT 0,  -- 1: it ended the program again and again; only tried by hand
  UNIQUE (uploader, upload_key)
);
CREATE INDEX photo_load ON photo (load_id, uploaded_at, id);
CREATE INDEX photo_state ON photo (state);

CREATE TABLE measurement (
  id {{id}},
  photo_id TEXT NOT NULL REFERENCES photo (id) ON DELETE CASCADE,
  version TEXT NOT NULL,
  run BIGINT NOT NULL,
  at BIGINT NOT NULL,
  photo {{bytes}} NOT NULL,          -- JSON in gzip
  keep {{bytes}},
  overlay TEXT NOT NULL DEFAULT '',  -- key of the blob
  UNIQUE (photo_id, version, run)
);

CREATE TABLE correction (
  measurement_id BIGINT NOT NULL REFERENCES measurement (id) ON DELETE CASCADE,
  particle BIGINT NOT NULL,
  class TEXT NOT NULL,
  by_name TEXT NOT NULL,
  at BIGINT NOT NULL,
  PRIMARY KEY (measurement_id, particle)
);

CREATE TABLE typed (
  id {{id}},
  load_id BIGINT NOT NULL REFERENCES load (id) ON DELETE CASCADE,
  kind TEXT NOT NULL,
  fields TEXT NOT NULL,
  by_name TEXT NOT NULL,
  at BIGINT NOT NULL
);
CREATE INDEX typed_load ON typed (load_id);

CREATE TABLE change (
  id {{id}},
  farm_id BIGINT NOT NULL,
  at BIGINT NOT NULL,
  by_name TEXT NOT NULL,
  what TEXT NOT NULL,
  object TEXT NOT NULL,
  detail TEXT NOT NULL
);
CREATE INDEX change_farm ON change (farm_id, id);

-- +goose Down
DROP TABLE change;
DROP TABLE typed;
DROP TABLE correction;
DROP TABLE measurement;
DROP TABLE photo;
DROP TABLE load;
DROP TABLE api_token;
DROP TABLE session;
DROP TABLE crew_link;
DROP TABLE harvest;
DROP TABLE invitation;
DROP TABLE member;
DROP TABLE farm;
DROP TABLE attempt;
DROP TABLE account;
