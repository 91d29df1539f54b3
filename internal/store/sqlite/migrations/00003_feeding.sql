-- +goose Up

-- How a group is fed: a document, which a store does not read.
ALTER TABLE feeding_group ADD COLUMN feeding TEXT NOT NULL DEFAULT '';

-- +goose Down
ALTER TABLE feeding_group DROP COLUMN feeding;
