package sysfs

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"golang.org/x/sys/unix"

	"clutchd/sensors"
)

// page is the most that the kernel gives for one attribute.
const page = 4096

// read gives a kernel file's text with plain system calls: some files answer
// EAGAIN, which Go's own files would take as a call to wait. Its error is a
// fault without a probe.
func read(path string) (string, error) {
	fd, err := retry(func() (int, error) {
		return unix.Open(path, unix.O_RDONLY|unix.O_CLOEXEC|unix.O_NONBLOCK, 0)
	})
	if err != nil {
		return "", fault(causeOf(err), "open %s: %w", path, err)
	}
	defer unix.Close(fd)
	text := make([]byte, page)
	n, err := retry(func() (int, error) { return unix.Read(fd, text) })
	if err != nil {
		return "", fault(causeOf(err), "read %s: %w", path, err)
	}
	return string(text[:n]), nil
}

// Text gives a kernel file's text, at most one page of it, for other readers of
// such files. Its error is a fault without a probe.
func Text(path string) (string, error) { return read(path) }

func retry(call func() (int, error)) (int, error) {
	for {
		n, err := call()
		if !errors.Is(err, unix.EINTR) {
			return n, err
		}
	}
}

// causeOf says what an errno of a driver means for the keeper.
func causeOf(err error) sensors.Cause {
	errno, ok := errors.AsType[unix.Errno](err)
	if !ok {
		return sensors.IO
	}
	switch errno {
	case unix.ENOENT, unix.ENODEV, unix.ENXIO, unix.EREMOTEIO, unix.ENOTDIR:
		return sensors.Absent
	case unix.EAGAIN, unix.EBUSY, unix.ENODATA:
		return sensors.NotReady
	case unix.ETIMEDOUT:
		return sensors.Timeout
	case unix.EBADMSG:
		return sensors.Checksum
	case unix.EOPNOTSUPP:
		return sensors.Unsupported
	}
	return sensors.IO
}

// ParseNumber reads the one decimal number that a hwmon or IIO file holds, as
// the kernel writes it: an optional minus sign, digits, perhaps a point and
// more digits, a newline. It gives 0 with every error, which is a fault
// without a probe.
func ParseNumber(text string) (float64, error) {
	word := strings.TrimSuffix(text, "\n")
	digits := strings.TrimPrefix(word, "-")
	whole, part, point := strings.Cut(digits, ".")
	if !decimal(whole) || point && !decimal(part) {
		return 0, fault(sensors.Unparsable, "%.40q is no number", text)
	}
	v, err := strconv.ParseFloat(word, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, fault(sensors.Unparsable, "%.40q is too large", text)
	}
	return v, nil
}

func decimal(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

// number gives the value of a kernel file.
func number(path string) (float64, error) {
	text, err := read(path)
	if err != nil {
		return 0, err
	}
	v, err := ParseNumber(text)
	if err != nil {
		return 0, fault(sensors.Unparsable, "%s: %w", path, errors.Unwrap(err))
	}
	return v, nil
}

// word gives the text of a kernel file without the newline, "" if it cannot
// be read.
func word(path string) string {
	text, err := read(path)
	if err != nil {
		return ""
	}
	return strings.TrimSpace(text)
}

// exists reports whether a kernel file is there; it does not read it.
func exists(path string) bool {
	return unix.Access(path, unix.F_OK) == nil
}
