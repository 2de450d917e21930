-- +goose Up
-- Keys of uploads whose photo was deleted: a phone that sends one again does not bring it back.
CREATE TABLE dropped_upload (
  uploader TEXT NOT NULL,
  upload_key TEXT NOT NULL,
  at BIGINT NOT NULL,
  PRIMARY KEY (uploader, upload_key)
);

-- +goose Down
DROP TABLE dropped_upload;
