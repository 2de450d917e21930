package harvest

import (
	"context"
	"database/sql"

	"github.com/riverqueue/river"

	"gristmark/internal/result"
)

// Measurer measures photos and judges loads; the log only keeps what it says.
type Measurer interface {
	// MeasurePhoto measures one photo; a bad photo is a refused result.Photo, not an error. overlay is a JPEG
	// or nil, keep whatever Judge wants back.
	MeasurePhoto(ctx context.Context, name string, data []byte, s Settings) (p result.Photo, overlay, keep []byte, err error)

	// Judge makes the document of a load from its measured and refused photos, corrections applied.
	// photos[i].File is the log's Photo.ID, and so is Correction.PhotoID.
	Judge(ctx context.Context, photos []result.Photo, keeps [][]byte, s Settings, targets string, corrections []Correction) (result.Document, error)

	// Version is the program's.
	Version() string
}

// measureJob asks for a photo to be measured; run tells askings of one photo apart.
type measureJob struct {
	Photo string `json:"photo"`
	Run   int64  `json:"run"`
}

func (measureJob) Kind() string { return "measure" }

// judgeJob asks for a load to be judged; it finds nothing to do where that has happened already.
type judgeJob struct {
	Load int64 `json:"load"`
}

func (judgeJob) Kind() string { return "judge" }

// Queues. Judging takes moments and does not wait behind photos.
const (
	measureQueue = "measure"
	judgeQueue   = "judge"
	attempts     = 25 // of a job whose database fails; a photo that fails is not tried again by the queue
)

func (l *Log) queueMeasure(ctx context.Context, tx *sql.Tx, photo string, run int64) error {
	_, err := l.queue.InsertTx(ctx, tx, measureJob{photo, run}, &river.InsertOpts{Queue: measureQueue, MaxAttempts: attempts})
	return err
}

// outdate marks a load's judgement as out of date and queues a new one.
func (l *Log) outdate(ctx context.Context, tx *sql.Tx, load int64) error {
	if _, err := tx.ExecContext(ctx, "UPDATE load SET wanted = wanted + 1 WHERE id = $1", load); err != nil {
		return err
	}
	_, err := l.queue.InsertTx(ctx, tx, judgeJob{load}, &river.InsertOpts{Queue: judgeQueue, MaxAttempts: attempts})
	return err
}

// outdateHarvest does it for all loads of a harvest that have photos.
func (l *Log) outdateHarvest(ctx context.Context, tx *sql.Tx, harvest int64) ([]int64, error) {
	var loads []int64
	err := each(ctx, tx, func(r *sql.Rows) error {
		var id int64
		err := r.Scan(&id)
		loads = append(loads, id)
		return err
	}, "SELECT id FROM load WHERE harvest_id = $1 AND (SELECT COUNT(*) FROM photo p WHERE p.load_id = load.id) > 0 ORDER BY id", harvest)
	if err != nil {
		return nil, err
	}
	for _, id := range loads {
		if err := l.outdate(ctx, tx, id); err != nil {
			return nil, err
		}
	}
	return loads, nil
}

// Stats tells what the queue holds.
type Stats struct {
	Waiting   int `json:"waiting"`   // photos
	Measuring int `json:"measuring"` // photos
	Failed    int `json:"failed"`    // photos
	Judging   int `json:"judging"`   // loads whose judgement is out of date
}

// Queue tells what waits and what has failed.
func (l *Log) Queue(ctx context.Context) (Stats, error) {
	var s Stats
	err := each(ctx, l.engine.read, func(r *sql.Rows) error {
		var state string
		var n int
		err := r.Scan(&state, &n)
		switch state {
		case Waiting:
			s.Waiting = n
		case Measuring:
			s.Measuring = n
		case Failed:
			s.Failed = n
		}
		return err
	}, "SELECT state, COUNT(*) FROM photo WHERE state IN ('waiting', 'measuring', 'failed') GROUP BY state")
	if err != nil {
		return s, err
	}
	err = l.engine.read.QueryRowContext(ctx, "SELECT COUNT(*) FROM load WHERE wanted > judged").Scan(&s.Judging)
	return s, databaseFault(err)
}
