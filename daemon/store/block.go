package store

import (
	"bytes"
	"compress/flate"
	"fmt"
	"io"
)

// A block is one probe's window, packed: a byte that says how, then a series,
// plain or deflated.
const (
	plainBlock = iota
	deflatedBlock
)

// maxSeriesBytes is above any series that appendTo writes for a window:
// it bounds what a damaged block may unfold to.
const maxSeriesBytes = 16*maxSeries + 64

// A packer writes blocks. It may be used again, not by two at once.
type packer struct {
	noise, steps *flate.Writer
	series       []byte
	out          bytes.Buffer
}

func newPacker() (*packer, error) {
	noise, err := flate.NewWriter(nil, flate.HuffmanOnly)
	if err != nil {
		return nil, fmt.Errorf("make deflater: %w", err)
	}
	steps, err := flate.NewWriter(nil, flate.BestCompression)
	if err != nil {
		return nil, fmt.Errorf("make deflater: %w", err)
	}
	return &packer{noise: noise, steps: steps}, nil
}

// pack gives the shortest block of several ways to write the samples. Noise
// packs best without looking for repetitions, steps with.
func (p *packer) pack(base int64, samples []sample) ([]byte, error) {
	var best []byte
	for guess := range predictors {
		p.series = series{base, samples}.appendTo(p.series[:0], guess)
		if best == nil || 1+len(p.series) < len(best) {
			best = append([]byte{plainBlock}, p.series...)
		}
		for _, w := range []*flate.Writer{p.noise, p.steps} {
			if err := p.deflate(w); err != nil {
				return nil, fmt.Errorf("deflate block: %w", err)
			}
			if p.out.Len() < len(best) {
				best = bytes.Clone(p.out.Bytes())
			}
		}
	}
	return best, nil
}

func (p *packer) deflate(w *flate.Writer) error {
	p.out.Reset()
	p.out.WriteByte(deflatedBlock)
	w.Reset(&p.out)
	if _, err := w.Write(p.series); err != nil {
		return err
	}
	return w.Close()
}

// An unpacker reads blocks. It may be used again, not by two at once.
type unpacker struct {
	inflater io.ReadCloser
	src      bytes.Reader
	series   bytes.Buffer
	samples  []sample
}

// unpack gives the samples of a block whose window starts at base. They are
// overwritten by the next.
func (u *unpacker) unpack(block []byte, base int64) ([]sample, error) {
	if len(block) == 0 || block[0] > deflatedBlock {
		return nil, errSeries
	}
	plain := block[1:]
	if block[0] == deflatedBlock {
		var err error
		if plain, err = u.inflate(plain); err != nil {
			return nil, err
		}
	}
	samples, err := window{base, windowSeconds}.parse(u.samples, plain)
	if err != nil {
		return nil, err
	}
	u.samples = samples
	return samples, nil
}

func (u *unpacker) inflate(deflated []byte) ([]byte, error) {
	u.src.Reset(deflated)
	if u.inflater == nil {
		u.inflater = flate.NewReader(&u.src)
	} else if err := u.inflater.(flate.Resetter).Reset(&u.src, nil); err != nil {
		return nil, errSeries
	}
	u.series.Reset()
	n, err := u.series.ReadFrom(io.LimitReader(u.inflater, maxSeriesBytes+1))
	if err != nil || n > maxSeriesBytes || u.src.Len() > 0 {
		return nil, errSeries
	}
	return u.series.Bytes(), nil
}
