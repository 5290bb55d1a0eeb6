package broker

import (
	"errors"
	"net"
	"sync"
	"time"
)

// introduction is how long a new connection has to say who it is.
const introduction = 10 * time.Second

// A limitListener keeps at most so many connections: one over that is closed
// as soon as it is accepted. The library counts only clients that have
// already introduced themselves, waits for ever until they do, and stops
// listening when a connection cannot be accepted for want of files.
type limitListener struct {
	net.Listener
	most int

	mu     sync.Mutex
	open   map[net.Conn]bool
	closed bool
}

func newLimitListener(l net.Listener, most int) *limitListener {
	return &limitListener{Listener: l, most: most, open: map[net.Conn]bool{}}
}

// Accept gives the next connection that there is room for.
func (l *limitListener) Accept() (net.Conn, error) {
	for {
		conn, err := l.Listener.Accept()
		switch {
		case errors.Is(err, net.ErrClosed):
			return nil, err
		case err != nil:
			time.Sleep(100 * time.Millisecond)
		case !l.enter(conn):
			conn.Close()
		default:
			// The deadline falls with the first packet.
			if err := conn.SetDeadline(time.Now().Add(introduction)); err == nil {
				return &counted{Conn: conn, list: l}, nil
			}
			l.leave(conn)
			conn.Close()
		}
	}
}

// Close stops listening and closes every connection.
func (l *limitListener) Close() error {
	l.mu.Lock()
	l.closed = true
	open := l.open
	l.open = map[net.Conn]bool{}
	l.mu.Unlock()
	for conn := range open {
		conn.Close()
	}
	return l.Listener.Close()
}

func (l *limitListener) enter(conn net.Conn) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.closed || len(l.open) >= l.most {
		return false
	}
	l.open[conn] = true
	return true
}

func (l *limitListener) leave(conn net.Conn) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.open, conn)
}

// counted gives its place back when it is closed.
type counted struct {
	net.Conn
	list *limitListener
}

// Close closes the connection and gives its place back.
func (c *counted) Close() error {
	c.list.leave(c.Conn)
	return c.Conn.Close()
}
