package webhook

import "net/http"

// Carry lets a test's own transport carry a hook's posts.
func Carry(h *Hook, by http.RoundTripper) { h.client.Transport = by }
