-- +goose Up
-- What a text is looked for in: name, field, hybrid, process and note in small letters, written by the program.
ALTER TABLE load ADD COLUMN search TEXT NOT NULL DEFAULT '';
UPDATE load SET search = LOWER(name || ' ' || field || ' ' || hybrid || ' ' || process);

-- +goose Down
ALTER TABLE load DROP COLUMN search;
