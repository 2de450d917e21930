package web

// done are the sentences that a page may be asked to show after a form was taken: named in the address, never written there.
var done = map[string]string{
	"saved":     "Saved.",
	"added":     "Added.",
	"removed":   "Removed.",
	"sent":      "The photos are here and kept. They are being measured.",
	"corrected": "The correction is kept, and the numbers follow it.",
	"queued":    "All photos of other versions are being measured again; what was measured before stays beside it.",
	"again":     "The photos are being measured again.",
	"nothing":   "Everything was measured by this version already.",
	"ended":     "The link is ended.",
	"password":  "The password is changed.",
}

func (c *call) said(name string) string {
	if text, ok := done[name]; ok {
		return c.t(text)
	}
	return ""
}

// scriptTexts are what the scripts say.
var scriptTexts = []string{
	"No network. Photos taken now wait on this phone and go up by themselves.",
	"No network. Photos wait in this page: keep it open until they are sent.",
	"%d waiting", "waits", "being sent", "sent", "refused", "Nothing waits.", "Sent.", "Remove",
	"The server does not answer; they are tried again.",
	"You are signed out: sign in, then the photos go up.",
	"Photo %d", "Remove photo %d", "%d photos chosen", "1 photo chosen", "At most 12 photos at once.",
	"Choose a photo first.", "Piece %d of %s", "named %s, %d %% sure", "named by hand: %s", "Kept: %s.",
	"whole kernel", "broken kernel", "stalk, leaf, husk, cob", "unsure", "nothing of the crop",
	"No piece there. Tap closer to one.", "This photo cannot be shown here.", "for a new load", "It could not be kept on this phone: %s",
	"The correction could not be sent; try again when there is a network.", "Sending photo %d of %d",
}
