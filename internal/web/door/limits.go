package door

import (
	"time"

	"golang.org/x/time/rate"
)

// Limits bound what one address or account may send, and how slowly.
type Limits struct {
	// Sizes of bodies.
	FormBytes   int64 // of a form or a JSON text
	SignInBytes int64 // of a form with a password
	PhotoBytes  int64 // of one photo
	UploadBytes int64 // of a form with photos

	// How slowly a body may come: no pause longer than Pause, and after Grace not less than MinRate bytes a second on the whole.
	Pause, Grace time.Duration
	MinRate      int64
	Stall        time.Duration // longest wait for a reader to take the next 64 KiB of an answer

	// Uploads at once.
	UploadsPerAddress, Uploads int

	// Tries to sign in, and uploads: so many at once, then one each.
	SignInPerAddress, SignInPerName Rate
	UploadPerAddress, UploadPerWho  Rate
}

// Rate is a token bucket: Burst at once, then one every Each.
type Rate struct {
	Burst int
	Each  time.Duration
}

func (r Rate) limiter() *rate.Limiter { return rate.NewLimiter(rate.Every(r.Each), r.Burst) }

// DefaultLimits suit a crew of twenty phones behind one address, some of them at the edge of reception: a photo of 5 MB may take an hour
// and a half at 1 KB a second.
func DefaultLimits() Limits {
	const mb = 1 << 20
	return Limits{
		FormBytes: 1 * mb, SignInBytes: 16 << 10, PhotoBytes: 64 * mb, UploadBytes: 12*64*mb + mb,
		Pause: 60 * time.Second, Grace: 60 * time.Second, MinRate: 1024, Stall: 60 * time.Second,
		UploadsPerAddress: 64, Uploads: 512,
		SignInPerAddress: Rate{20, 6 * time.Second}, SignInPerName: Rate{10, 30 * time.Second},
		UploadPerAddress: Rate{240, 100 * time.Millisecond}, UploadPerWho: Rate{120, 200 * time.Millisecond},
	}
}
