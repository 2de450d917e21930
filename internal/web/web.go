package web

import (
	"errors"
	"log/slog"
	"net/http"
	"strings"

	"gristmark/internal/harvest"
)

// Options of the pages.
type Options struct {
	Log     *harvest.Log
	Version string // of the program

	Who     func(*http.Request) (harvest.Who, bool)                     // who asks; false: nobody has signed in
	SignIn  func(http.ResponseWriter, *http.Request, harvest.Who) error // starts a session
	SignOut func(http.ResponseWriter, *http.Request) error              // ends it
	Done    <-chan struct{}                                             // closed when the server stops, which ends the streams of events; nil: never
	Logger  *slog.Logger                                                // nil: the default one

	MaxPhotoBytes int64 // of one photo, 0: 64 MiB
}

// MaxPhotos is how many photos one form may bring.
const MaxPhotos = 12

// server holds what the handlers share; it does not change once made.
type server struct {
	opt     Options
	tongues map[string]*tongue
	assets  assets
	reduced *reducer
}

// New makes the handler of all pages.
func New(opt Options) (http.Handler, error) {
	if opt.Log == nil || opt.Who == nil || opt.SignIn == nil || opt.SignOut == nil {
		return nil, errors.New("web: the pages need a log and functions that tell who asks and that start and end a session")
	}
	if opt.MaxPhotoBytes == 0 {
		opt.MaxPhotoBytes = 64 << 20
	}
	if opt.Logger == nil {
		opt.Logger = slog.Default()
	}
	s := &server{opt: opt, reduced: newReducer()}
	var err error
	if s.assets, err = loadAssets(); err != nil {
		return nil, err
	}
	if s.tongues, err = loadTongues(s.assets); err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	s.routes(mux)
	return mux, nil
}

// Route is a pattern of the pages, for tests that go through all of them.
type Route struct{ Method, Path string }

func (s *server) routes(mux *http.ServeMux) {
	for pattern, h := range s.open() {
		mux.HandleFunc(pattern, s.page(h, false))
	}
	for pattern, h := range s.closed() {
		mux.HandleFunc(pattern, s.page(h, true))
	}
	mux.HandleFunc("GET /static/{name}", s.assets.serve)
	mux.HandleFunc("GET /sw.js", s.assets.worker)
	mux.HandleFunc("GET /manifest.webmanifest", s.assets.manifest)
	mux.HandleFunc("/", s.page(func(*call) error { return harvest.ErrNone }, false))
}

// open are the pages that nobody has to sign in for.
func (s *server) open() map[string]handler {
	return map[string]handler{
		"GET /sign-in":       signInForm,
		"POST /sign-in":      signIn,
		"POST /sign-out":     signOut,
		"GET /join/{token}":  joinForm,
		"POST /join/{token}": join,
		"GET /crew/{token}":  crewForm,
		"POST /crew/{token}": crew,
		"GET /waiting":       waiting,
	}
}

// closed are the pages for who has signed in.
func (s *server) closed() map[string]handler {
	return map[string]handler{
		"GET /{$}":                                     home,
		"POST /farms":                                  addFarm,
		"GET /farms/{farm}":                            farmPage,
		"POST /farms/{farm}/invite":                    invite,
		"POST /farms/{farm}/members/{account}":         setRole,
		"GET /account":                                 accountPage,
		"POST /account/tokens":                         addToken,
		"POST /account/tokens/{token}/drop":            dropToken,
		"POST /account/password":                       changePassword,
		"GET /harvests/new":                            newHarvest,
		"POST /harvests":                               addHarvest,
		"GET /harvests/{harvest}":                      harvestPage,
		"GET /harvests/{harvest}/edit":                 editHarvest,
		"POST /harvests/{harvest}/edit":                changeHarvest,
		"POST /harvests/{harvest}/drop":                dropHarvest,
		"POST /harvests/{harvest}/remeasure":           remeasure,
		"GET /harvests/{harvest}/links":                linksPage,
		"POST /harvests/{harvest}/links":               addLink,
		"POST /harvests/{harvest}/links/{link}/revoke": revokeLink,
		"GET /harvests/{harvest}/compare":              comparePage,
		"GET /harvests/{harvest}/results.csv":          resultsCSV,
		"GET /harvests/{harvest}/results.xlsx":         resultsXLSX,
		"GET /harvests/{harvest}/documents.zip":        documentsZip,
		"GET /harvests/{harvest}/season.pdf":           seasonPDF,
		"GET /harvests/{harvest}/loads/new":            newLoad,
		"POST /harvests/{harvest}/loads":               addLoad,
		"GET /loads/{load}":                            loadPage,
		"GET /loads/{load}/live":                       loadLive,
		"GET /loads/{load}/events":                     loadEvents,
		"GET /loads/{load}/edit":                       editLoad,
		"POST /loads/{load}/edit":                      changeLoad,
		"POST /loads/{load}/drop":                      dropLoad,
		"POST /loads/{load}/photos":                    addPhotos,
		"POST /loads/{load}/sieve":                     addSieve,
		"POST /loads/{load}/remeasure":                 remeasureLoad,
		"POST /loads/{load}/cup":                       addCup,
		"POST /loads/{load}/typed/{typed}/drop":        dropTyped,
		"GET /loads/{load}/operator.pdf":               operatorPDF,
		"GET /loads/{load}/document.json":              documentJSON,
		"GET /photos/{photo}":                          photoPage,
		"GET /photos/{photo}/overlay.jpg":              photoOverlay,
		"GET /photos/{photo}/small.jpg":                photoSmall,
		"GET /photos/{photo}/original":                 photoOriginal,
		"GET /photos/{photo}/pieces.json":              photoPieces,
		"GET /photos/{photo}/pieces/{piece}":           piecePage,
		"GET /photos/{photo}/pieces/{piece}/look.jpg":  pieceLook,
		"POST /photos/{photo}/pieces/{piece}":          correctPiece,
		"POST /photos/{photo}/drop":                    dropPhoto,
	}
}

// Routes lists the pages for who has signed in.
func Routes() []Route {
	var out []Route
	for pattern := range new(server).closed() {
		method, path, _ := strings.Cut(pattern, " ")
		out = append(out, Route{method, path})
	}
	return out
}
