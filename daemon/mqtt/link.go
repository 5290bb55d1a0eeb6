package mqtt

import (
	"context"
	"errors"
	"net"
	"sync"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
)

// How long a broker may take (judgement): it answers in milliseconds, over a
// bad radio link in seconds.
const (
	connectTimeout = 10 * time.Second
	writeTimeout   = 10 * time.Second
	ackTimeout     = 15 * time.Second
	keepAlive      = 30 * time.Second // a dead link shows after this and pingTimeout
	pingTimeout    = 10 * time.Second
	partingTimeout = time.Second
)

// errNoAck says that the broker did not confirm in time.
var errNoAck = errors.New("no confirmation from the broker")

// A message is one MQTT message, in or out.
type message struct {
	topic    string
	payload  []byte
	retained bool
	// at is when it arrived, for one that came in, and when what it tells was
	// measured, for a reading that goes out.
	at time.Time
}

// A link is one connection. It never reconnects and keeps nothing: the
// library's own reconnecting completes a publish without an error when the
// broker never confirmed it. Whoever wants another connection opens one.
type link struct {
	client paho.Client

	mu    sync.Mutex
	conn  net.Conn
	shake func() bool // takes the handshake's hand off the connection
	// undialled is why there was never a connection.
	undialled error
	why       error
	lost      chan struct{} // closed when the connection is gone
}

// publish sends one message at QoS 1 and returns nil only when the broker has
// confirmed it. Anything else ends the link: nothing that is still on its way
// can be told from what is lost.
func (l *link) publish(ctx context.Context, m message) error {
	return l.await(ctx, l.start(m))
}

// start begins to send a message; await takes its result. The library's own
// call is not bound to a context and may block.
func (l *link) start(m message) <-chan error {
	return l.begin(func() paho.Token { return l.client.Publish(m.topic, 1, m.retained, m.payload) })
}

// begin runs one of the library's calls and gives the result of its token.
func (l *link) begin(call func() paho.Token) <-chan error {
	result := make(chan error, 1)
	if !l.client.IsConnectionOpen() {
		result <- paho.ErrNotConnected
		return result
	}
	go func() {
		token := call()
		select {
		case <-token.Done():
			result <- token.Error()
		case <-l.lost:
			result <- l.cause()
		}
	}()
	return result
}

func (l *link) await(ctx context.Context, result <-chan error) error {
	timer := time.NewTimer(ackTimeout)
	defer timer.Stop()
	var err error
	select {
	case err = <-result:
	case <-l.lost:
		err = l.cause()
	case <-timer.C:
		err = errNoAck
	case <-ctx.Done():
		err = ctx.Err()
	}
	if err != nil {
		l.abandon(err)
	}
	return err
}

// subscribe asks for topics and returns those that the broker refused.
func (l *link) subscribe(ctx context.Context, filters map[string]byte) ([]string, error) {
	var refused []string
	var token *paho.SubscribeToken
	result := l.begin(func() paho.Token {
		t := l.client.SubscribeMultiple(filters, nil)
		token, _ = t.(*paho.SubscribeToken)
		return t
	})
	if err := l.await(ctx, result); err != nil {
		return nil, err
	}
	for topic, code := range token.Result() {
		if code > 2 {
			refused = append(refused, topic)
		}
	}
	return refused, nil
}

func (l *link) unsubscribe(ctx context.Context, topics ...string) error {
	return l.await(ctx, l.begin(func() paho.Token { return l.client.Unsubscribe(topics...) }))
}

// gone notes why the connection is no more; the first reason stands.
func (l *link) gone(err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.isLost() {
		l.why = err
		close(l.lost)
	}
}

func (l *link) isLost() bool {
	select {
	case <-l.lost:
		return true
	default:
		return false
	}
}

func (l *link) cause() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.why
}

// abandon breaks the connection without a word, so that the broker sends the
// last will. It does not wait.
func (l *link) abandon(err error) {
	l.gone(err)
	l.mu.Lock()
	conn := l.conn
	l.mu.Unlock()
	if conn != nil {
		conn.Close()
	}
	l.client.Disconnect(0) // lets the library's goroutines go
}

// part takes leave of the broker, which then sends no last will.
func (l *link) part() {
	l.client.Disconnect(uint(partingTimeout / time.Millisecond))
	l.abandon(net.ErrClosed)
}
