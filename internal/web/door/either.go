package door

import (
	"bufio"
	"net"
	"sync"
	"time"
)

// Either tells TLS from plain HTTP on one port by its first byte, so that a phone that does not know the authority yet can fetch it from
// the address that it will use later.
type Either struct {
	net.Listener
	plain, secret chan net.Conn
	closed        chan struct{}
	once          sync.Once
}

// firstByte waits no longer than this for a connection to say something.
const firstByte = 10 * time.Second

// recordTLS begins every TLS connection: a handshake record (RFC 8446, section 5.1).
const recordTLS = 0x16

// NewEither starts to sort the connections of a listener.
func NewEither(l net.Listener) *Either {
	e := &Either{Listener: l, plain: make(chan net.Conn), secret: make(chan net.Conn), closed: make(chan struct{})}
	go e.run()
	return e
}

// TLS is the listener of connections that speak TLS, Plain that of the others. Closing either closes both.
func (e *Either) TLS() net.Listener   { return side{e, e.secret} }
func (e *Either) Plain() net.Listener { return side{e, e.plain} }

func (e *Either) run() {
	for {
		c, err := e.Listener.Accept()
		if err != nil {
			if t, ok := err.(interface{ Temporary() bool }); ok && t.Temporary() { //nolint:staticcheck // what net/http does
				time.Sleep(50 * time.Millisecond)
				continue
			}
			e.once.Do(func() { close(e.closed) })
			return
		}
		go e.sort(c)
	}
}

func (e *Either) sort(c net.Conn) {
	_ = c.SetReadDeadline(time.Now().Add(firstByte))
	p := &peeked{Conn: c, r: bufio.NewReaderSize(c, 512)}
	first, err := p.r.Peek(1)
	if err != nil {
		c.Close()
		return
	}
	_ = c.SetReadDeadline(time.Time{})
	to := e.plain
	if first[0] == recordTLS {
		to = e.secret
	}
	select {
	case to <- p:
	case <-e.closed:
		c.Close()
	}
}

type peeked struct {
	net.Conn
	r *bufio.Reader
}

func (p *peeked) Read(b []byte) (int, error) { return p.r.Read(b) }

type side struct {
	*Either
	from chan net.Conn
}

func (s side) Accept() (net.Conn, error) {
	select {
	case c := <-s.from:
		return c, nil
	case <-s.closed:
		return nil, net.ErrClosed
	}
}

func (s side) Close() error {
	s.once.Do(func() { close(s.closed) })
	return s.Listener.Close()
}
