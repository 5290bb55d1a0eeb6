package broker

import (
	"context"
	"log/slog"
)

// quiet passes only errors on: the library tells of every client that goes
// away, and logs whole packets.
type quiet struct{ slog.Handler }

// Enabled says no to everything below an error.
func (q quiet) Enabled(ctx context.Context, level slog.Level) bool {
	return level >= slog.LevelError && q.Handler.Enabled(ctx, level)
}

// WithAttrs keeps the rest quiet.
func (q quiet) WithAttrs(attrs []slog.Attr) slog.Handler { return quiet{q.Handler.WithAttrs(attrs)} }

// WithGroup keeps the rest quiet.
func (q quiet) WithGroup(name string) slog.Handler { return quiet{q.Handler.WithGroup(name)} }
