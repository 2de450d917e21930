package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"time"

	"github.com/gofrs/flock"
	"github.com/urfave/cli/v2"
	"golang.org/x/sync/errgroup"
	"golang.org/x/term"

	"gristmark/internal/harvest"
	"gristmark/internal/web/door"
)

func init() { register(serveCommand) }

// defaultListen is every address of this machine, so that the phones of a crew reach it.
const defaultListen = ":8470"

func serveCommand() *cli.Command {
	return &cli.Command{
		Name:  "serve",
		Usage: "the web page for phone uploads, and the harvest log",
		Description: "Starts on a file and a folder in --data, prints the address with a QR code for phones on the same\n" +
			"network, and while there is no account a link to make the first one. It stops on Ctrl-C or SIGTERM\n" +
			"after finishing what it is at; photos that wait are measured on the next start.\n\n" +
			"Log lines go to standard error: JSON, or on a terminal text, and there warnings alone unless --verbose.\n" +
			"Metrics lie at /metrics, for this machine and for tokens of advisers.",
		Flags: append(logFlags(),
			&cli.StringFlag{Name: "listen", Value: defaultListen, Usage: "`ADDRESS:PORT` to serve on; without an address on all of this machine's"},
			&cli.StringFlag{Name: "tls-cert", Usage: "certificate `FILE`, with the chain behind it"},
			&cli.StringFlag{Name: "tls-key", Usage: "key `FILE` of the certificate"},
			&cli.BoolFlag{Name: "make-ca", Usage: "make a certificate for the local network, kept in --data, and tell phones how to trust it"},
			&cli.StringFlag{Name: "public-url", Usage: "the `ADDRESS` people use, where a proxy on this machine stands before the server"},
			&cli.IntFlag{Name: "workers", Value: defaultMeasurers(), Usage: "`N` photos measured at once, up to 600 MB each"},
			&cli.BoolFlag{Name: "demo", Usage: "fill an empty log with an invented harvest, drawn and measured on this machine"},
		),
		Action: runServe,
	}
}

// defaultMeasurers leaves a processor to the pages.
func defaultMeasurers() int { return max(1, min(2, runtime.NumCPU()-1)) }

// serveOptions are the checked options of serve.
type serveOptions struct {
	logPlace
	listen  string
	cert    *tls.Certificate
	makeCA  bool
	public  *url.URL
	workers int
	demo    bool
}

func serveOptionsOf(c *cli.Context) (o serveOptions, err error) {
	if c.NArg() > 0 {
		return o, withHint(usageErrorf("serve takes no argument, and got %q", c.Args().First()), "gristmark serve --data DIR")
	}
	if o.logPlace, err = logPlaceOf(c); err != nil {
		return o, err
	}
	o.listen, o.makeCA, o.workers, o.demo = c.String("listen"), c.Bool("make-ca"), c.Int("workers"), c.Bool("demo")
	if o.workers < 1 {
		return o, usageErrorf("--workers %d: it takes at least 1", o.workers)
	}
	if _, port, err := net.SplitHostPort(o.listen); err != nil || port == "" {
		return o, withHint(usageErrorf("--listen %q: write ADDRESS:PORT or :PORT", o.listen), "gristmark serve --listen "+defaultListen)
	}
	if o.public, err = publicURL(c.String("public-url")); err != nil {
		return o, err
	}
	o.cert, err = givenCertificate(c.String("tls-cert"), c.String("tls-key"), o.makeCA)
	return o, err
}

func publicURL(text string) (*url.URL, error) {
	if text == "" {
		return nil, nil
	}
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || strings.Trim(u.Path, "/") != "" {
		return nil, usageErrorf("--public-url %q: write it as https://log.example.org", text)
	}
	return &url.URL{Scheme: u.Scheme, Host: u.Host}, nil
}

func givenCertificate(cert, key string, makeCA bool) (*tls.Certificate, error) {
	switch {
	case cert == "" && key == "":
		return nil, nil
	case cert == "" || key == "":
		return nil, usageError("--tls-cert and --tls-key go together; give both")
	case makeCA:
		return nil, usageError("--make-ca makes a certificate, and --tls-cert gives one; choose")
	}
	pair, err := tls.LoadX509KeyPair(cert, key)
	if err != nil {
		return nil, refusedErrorf("the certificate and its key cannot be used: %v", err)
	}
	return &pair, nil
}

func runServe(c *cli.Context) error {
	opt, err := serveOptionsOf(c)
	if err != nil {
		return err
	}
	unlock, err := lockData(opt.data)
	if err != nil {
		return err
	}
	defer unlock()
	logger := serveLogger(c)
	l, err := openLog(c.Context, opt.logPlace, logger)
	if err != nil {
		return err
	}
	err = serveLog(c, opt, l, logger)
	return errors.Join(err, l.Close(context.WithoutCancel(c.Context)))
}

// lockData keeps a second server out of the same folder.
func lockData(dir string) (unlock func(), err error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, withHint(fmt.Errorf("the data folder %s cannot be made: %v", dir, unwrapped(err)), "gristmark serve --data DIR takes another")
	}
	lock := flock.New(filepath.Join(dir, "serve.lock"), flock.SetPermissions(0o600))
	free, err := lock.TryLock()
	switch {
	case err != nil:
		return nil, withHint(fmt.Errorf("the data folder %s cannot be written: %v", dir, unwrapped(err)), "gristmark serve --data DIR takes another")
	case !free:
		return nil, withHint(fmt.Errorf("another gristmark serves the data folder %s already", dir), "stop it first, or give this one its own --data")
	}
	return func() { _ = lock.Close() }, nil
}

// serveLogger writes what happens to standard error.
func serveLogger(c *cli.Context) *slog.Logger {
	if f, ok := c.App.ErrWriter.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		level := slog.LevelWarn
		if voiceOf(c).verbose {
			level = slog.LevelInfo
		}
		return slog.New(slog.NewTextHandler(c.App.ErrWriter, &slog.HandlerOptions{Level: level}))
	}
	level := slog.LevelInfo
	if voiceOf(c).verbose {
		level = slog.LevelDebug
	}
	return slog.New(slog.NewJSONHandler(c.App.ErrWriter, &slog.HandlerOptions{Level: level}))
}

// serveLog serves an open log until the context ends.
func serveLog(c *cli.Context, opt serveOptions, l *harvest.Log, logger *slog.Logger) error {
	listener, err := net.Listen("tcp", opt.listen)
	if err != nil {
		return listenFault(opt.listen, err)
	}
	defer listener.Close()
	site, err := newSite(opt, l, logger)
	if err != nil {
		return err
	}
	m, err := newMeasurer(opt.workers)
	if err != nil {
		return err
	}
	if err := sayServing(c, opt, site, l, listener.Addr()); err != nil {
		return err
	}
	work, ctx := errgroup.WithContext(c.Context)
	work.Go(func() error { return site.serve(ctx, listener) })
	work.Go(func() error { return l.Run(ctx, m, opt.workers) })
	if opt.demo {
		work.Go(func() error { return fillDemo(ctx, c, l, opt.data, site.address(listener.Addr())) })
	}
	go func() {
		<-ctx.Done()
		signal.Reset(os.Interrupt, syscall.SIGTERM) // a second one ends the program at once
	}()
	err = work.Wait()
	if c.Context.Err() != nil && errors.Is(err, context.Canceled) {
		err = nil
	}
	if err == nil {
		logger.Info("stopped")
	}
	return said(err)
}

func listenFault(listen string, err error) error {
	var op *net.OpError
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return withHint(fmt.Errorf("something else uses %s already", listen), "gristmark serve --listen :8471 takes another port")
	case errors.Is(err, syscall.EACCES):
		return withHint(fmt.Errorf("this user may not serve on %s", listen), "take a port above 1023, as in --listen "+defaultListen)
	case errors.As(err, &op) && op.Err != nil:
		return withHint(usageErrorf("cannot serve on %s: %v", listen, op.Err), "gristmark serve --listen "+defaultListen)
	}
	return err
}

// stopWithin is how long requests under way are waited for.
const stopWithin = 30 * time.Second

// httpServer bounds what a connection may do before a request is there; the door bounds the rest.
func httpServer(h http.Handler, logger *slog.Logger) *http.Server {
	return &http.Server{
		Handler: h, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10,
		ErrorLog: slog.NewLogLogger(logger.Handler(), slog.LevelDebug),
	}
}

// serve answers requests until the context ends, and then finishes those under way.
func (s *site) serve(ctx context.Context, listener net.Listener) error {
	main := httpServer(s.handler, s.logger)
	servers := []*http.Server{main}
	ended := make(chan error, 2)
	if s.cert == nil {
		go func() { ended <- main.Serve(listener) }()
	} else {
		either := door.NewEither(listener)
		main.TLSConfig = &tls.Config{MinVersion: tls.VersionTLS12, Certificates: []tls.Certificate{*s.cert}}
		plain := httpServer(s.plain, s.logger)
		servers = append(servers, plain)
		go func() { ended <- main.ServeTLS(either.TLS(), "", "") }()
		go func() { ended <- plain.Serve(either.Plain()) }()
	}
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	close(s.done)
	limited, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
	defer cancel()
	for _, server := range servers {
		if err := server.Shutdown(limited); err != nil {
			_ = server.Close() // what still runs is a sender that stalls
		}
	}
	return nil
}
