package capture

import (
	"bytes"
	"errors"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// decode gives the text behind a byte order mark as UTF-8, and the name of the encoding. Without a mark the bytes pass
// as they are: the numbers are ASCII in every encoding that an instrument is likely to use.
func decode(r io.Reader) (io.Reader, string, error) {
	mark := make([]byte, 3)
	n, err := io.ReadFull(r, mark)
	mark = mark[:n]
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, "", err
	}
	switch {
	case bytes.Equal(mark, []byte{0xEF, 0xBB, 0xBF}):
		return r, "UTF-8 with BOM", nil
	case bytes.HasPrefix(mark, []byte{0xFF, 0xFE}):
		return &utf16Reader{r: io.MultiReader(bytes.NewReader(mark[2:]), r)}, "UTF-16 LE", nil
	case bytes.HasPrefix(mark, []byte{0xFE, 0xFF}):
		return &utf16Reader{r: io.MultiReader(bytes.NewReader(mark[2:]), r), bigEndian: true}, "UTF-16 BE", nil
	}
	return io.MultiReader(bytes.NewReader(mark), r), "UTF-8", nil
}

// utf16Reader gives UTF-16 text as UTF-8. A surrogate without its other half, or half a code unit at the end of the file,
// becomes U+FFFD.
type utf16Reader struct {
	r         io.Reader
	bigEndian bool
	in        [4096]byte
	have      int  // bytes in in
	high      rune // first half of a surrogate pair, or 0
	out       []byte
	err       error
}

func (u *utf16Reader) Read(p []byte) (int, error) {
	for len(u.out) == 0 {
		if u.err != nil {
			return 0, u.err
		}
		u.fill()
	}
	n := copy(p, u.out)
	u.out = u.out[n:]
	return n, nil
}

// fill decodes the next bytes.
func (u *utf16Reader) fill() {
	n, err := u.r.Read(u.in[u.have:])
	u.have += n
	u.err = err
	u.out = u.out[:0]
	whole := u.have &^ 1
	for i := 0; i < whole; i += 2 {
		unit := rune(u.in[i+1])<<8 | rune(u.in[i])
		if u.bigEndian {
			unit = rune(u.in[i])<<8 | rune(u.in[i+1])
		}
		u.put(unit)
	}
	u.have = copy(u.in[:], u.in[whole:u.have])
	if err != nil && (u.have > 0 || u.high != 0) {
		u.out = utf8.AppendRune(u.out, utf8.RuneError)
		u.have, u.high = 0, 0
	}
}

// put decodes one code unit.
func (u *utf16Reader) put(unit rune) {
	if u.high != 0 {
		pair := utf16.DecodeRune(u.high, unit)
		u.high = 0
		u.out = utf8.AppendRune(u.out, pair)
		if pair != utf8.RuneError {
			return
		}
	}
	const highSurrogates, lowSurrogates = 0xD800, 0xDC00
	if unit >= highSurrogates && unit < lowSurrogates {
		u.high = unit
		return
	}
	u.out = utf8.AppendRune(u.out, unit)
}

// steady gives up on a reader that returns nothing again and again.
type steady struct{ r io.Reader }

func (s *steady) Read(p []byte) (int, error) {
	const patience = 100
	for range patience {
		if n, err := s.r.Read(p); n > 0 || err != nil || len(p) == 0 {
			return n, err
		}
	}
	return 0, io.ErrNoProgress
}
