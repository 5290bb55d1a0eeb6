package daemon_test

import (
	"math/rand/v2"
	"net"
	"sync"
	"testing"
	"time"
)

// A proxy is a bad network on the way to one far side: it breaks connections,
// slows them down, and swallows what is sent.
type proxy struct {
	addr, to string
	mu       sync.Mutex
	ways     map[*way]bool
	delay    time.Duration // of each read of bytes
	black    bool          // bytes go in and do not come out
}

// A way is one connection through the proxy.
type way struct {
	near, far net.Conn
	once      sync.Once
	gone      chan struct{}
}

func newProxy(t *testing.T, to string) *proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &proxy{addr: l.Addr().String(), to: to, ways: map[*way]bool{}}
	var running sync.WaitGroup
	running.Go(func() {
		for {
			near, err := l.Accept()
			if err != nil {
				return
			}
			running.Go(func() { p.lead(near) })
		}
	})
	t.Cleanup(func() {
		l.Close()
		p.cut(true)
		running.Wait()
	})
	return p
}

func (p *proxy) lead(near net.Conn) {
	far, err := net.Dial("tcp", p.to)
	if err != nil {
		near.Close()
		return
	}
	w := &way{near: near, far: far, gone: make(chan struct{})}
	p.mu.Lock()
	p.ways[w] = true
	p.mu.Unlock()
	var both sync.WaitGroup
	both.Go(func() { p.pump(w, near, far) })
	both.Go(func() { p.pump(w, far, near) })
	both.Wait()
	w.end(false)
	p.mu.Lock()
	delete(p.ways, w)
	p.mu.Unlock()
}

func (p *proxy) pump(w *way, from, to net.Conn) {
	defer w.end(false)
	buffer := make([]byte, 4096)
	for {
		n, err := from.Read(buffer)
		if n > 0 && !p.pass(w) {
			return
		}
		if _, lost := to.Write(buffer[:n]); err != nil || lost != nil {
			return
		}
	}
}

// pass holds bytes up as the network does, and reports whether they go on.
func (p *proxy) pass(w *way) bool {
	p.mu.Lock()
	delay, black := p.delay, p.black
	p.mu.Unlock()
	if black {
		<-w.gone
		return false
	}
	select {
	case <-time.After(delay):
		return true
	case <-w.gone:
		return false
	}
}

// end closes both sides, with a reset or in peace.
func (w *way) end(reset bool) {
	w.once.Do(func() {
		for _, c := range []net.Conn{w.near, w.far} {
			if t, ok := c.(*net.TCPConn); ok && reset {
				_ = t.SetLinger(0)
			}
			c.Close()
		}
		close(w.gone)
	})
}

// cut breaks the connections that there are and gives their number.
func (p *proxy) cut(reset bool) int {
	p.mu.Lock()
	var ways []*way
	for w := range p.ways {
		ways = append(ways, w)
	}
	p.ways = map[*way]bool{}
	p.mu.Unlock()
	for _, w := range ways {
		w.end(reset)
	}
	return len(ways)
}

func (p *proxy) set(delay time.Duration, black bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.delay, p.black = delay, black
}

// spoil does one bad thing and reports whether connections were cut by it. A
// deep one may swallow for longer than a confirmation is waited for.
func (p *proxy) spoil(dice *rand.Rand, deep bool) bool {
	reset := dice.IntN(2) == 0
	switch dice.IntN(5) {
	case 0: // what is sent vanishes for a while, then the connection breaks
		p.set(0, true)
		hole := time.Duration(50+dice.IntN(600)) * time.Millisecond
		if deep && dice.IntN(8) == 0 {
			hole += 16 * time.Second
		}
		time.Sleep(hole)
		n := p.cut(reset)
		p.set(0, false)
		return n > 0
	case 1:
		p.set(time.Duration(dice.IntN(60))*time.Millisecond, false)
		time.Sleep(time.Duration(dice.IntN(300)) * time.Millisecond)
		n := p.cut(reset)
		p.set(0, false)
		return n > 0
	}
	return p.cut(reset) > 0
}
