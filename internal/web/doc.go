// Package web is the pages of the log: what a crew sees on a phone in the field and an adviser on a laptop. Pages are made on the
// server and work without scripts; scripts add the queue for places without a network, live progress, and looking at photos.
// It measures nothing and opens no door by itself: the log (internal/harvest) checks every right, internal/web/door says who asks.
package web
