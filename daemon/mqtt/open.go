package mqtt

import (
	"context"
	"net"
	"net/url"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"

	"clutchd/daemon/secure"
)

// A dialFunc opens a network connection.
type dialFunc = func(context.Context) (net.Conn, error)

// A linkPlan says what to open.
type linkPlan struct {
	broker  Broker
	id      string // of the client, as the broker knows it
	dial    dialFunc
	will    *message
	receive func(message) // must not block: the library would stand still; may be nil
}

// open connects. It ends promptly with ctx.
func open(ctx context.Context, plan linkPlan) (*link, error) {
	password, err := plan.broker.password()
	if err != nil {
		return nil, err
	}
	l := &link{lost: make(chan struct{})}
	o := l.options(ctx, plan)
	if plan.broker.User != "" {
		o.SetUsername(plan.broker.User).SetPassword(password)
	}
	l.client = paho.NewClient(o)
	token := l.client.Connect()
	<-token.Done() // bounded: dialling and handshake have deadlines
	l.shaken()
	if err := token.Error(); err != nil {
		return nil, orCtx(ctx, l.refusal(ctx, plan, err))
	}
	if err := ctx.Err(); err != nil {
		l.abandon(err)
		return nil, err
	}
	return l, nil
}

// refusal gives the reason behind the library's own: what dialling said, or
// why the broker broke the connection.
func (l *link) refusal(ctx context.Context, plan linkPlan, err error) error {
	l.mu.Lock()
	undialled := l.undialled
	l.mu.Unlock()
	if undialled != nil {
		return undialled
	}
	if _, encrypted, _ := plan.broker.address(); !encrypted {
		return err
	}
	return secure.Verdict(ctx, err, plan.dial)
}

func (l *link) options(ctx context.Context, plan linkPlan) *paho.ClientOptions {
	o := paho.NewClientOptions().AddBroker("tcp://broker").SetClientID(plan.id).SetProtocolVersion(4)
	o.SetCleanSession(true).SetAutoReconnect(false).SetConnectRetry(false)
	o.SetConnectTimeout(connectTimeout).SetWriteTimeout(writeTimeout)
	o.SetKeepAlive(keepAlive).SetPingTimeout(pingTimeout)
	o.SetConnectionLostHandler(func(_ paho.Client, err error) { l.gone(err) })
	o.SetCustomOpenConnectionFn(func(_ *url.URL, _ paho.ClientOptions) (net.Conn, error) {
		return l.connect(ctx, plan.dial)
	})
	o.SetDefaultPublishHandler(func(_ paho.Client, m paho.Message) {
		if plan.receive != nil {
			plan.receive(message{m.Topic(), m.Payload(), m.Retained(), time.Now()})
		}
	})
	if w := plan.will; w != nil {
		o.SetBinaryWill(w.topic, w.payload, 1, w.retained)
	}
	return o
}

// connect dials. The connection breaks with ctx for as long as the library's
// handshake runs on it; afterwards whoever holds the link ends it.
func (l *link) connect(ctx context.Context, dial dialFunc) (net.Conn, error) {
	dialling, cancel := context.WithTimeout(ctx, connectTimeout)
	defer cancel()
	conn, err := dial(dialling)
	if err != nil {
		l.mu.Lock()
		defer l.mu.Unlock()
		l.undialled = err
		return nil, err
	}
	conn = &limitedConn{Conn: conn}
	l.mu.Lock()
	l.conn = conn
	l.shake = context.AfterFunc(ctx, func() { conn.Close() })
	l.mu.Unlock()
	return conn, nil
}

func (l *link) shaken() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.shake != nil {
		l.shake()
	}
}

func orCtx(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return err
}
