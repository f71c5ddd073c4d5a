package drill

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/hmac"
	"crypto/pbkdf2"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
)

// Seal closes a drill that a teacher set, so that its code tells nothing to who
// has not got the word. Whoever runs the engine with the word can have the fault
// out of it, by giving up: the word is to stay with the teacher, or with the
// machine that serves the class.
type Seal struct {
	aead cipher.AEAD
	mac  []byte
}

// rounds make each guess of a word slow (PBKDF2, RFC 8018).
const rounds = 200_000

// padTo hides how long a fault's name is.
const padTo = 96

// NewSeal makes the seal of a word.
func NewSeal(word string) (*Seal, error) {
	if len(word) < MinWord {
		return nil, fmt.Errorf("a word of %d letters to seal with: at least %d", len(word), MinWord)
	}
	key, err := pbkdf2.Key(sha256.New, word, []byte("legtrace drill"), rounds, 64)
	if err != nil {
		return nil, err
	}
	block, err := aes.NewCipher(key[:32])
	if err != nil {
		return nil, err
	}
	aead, err := cipher.NewGCM(block)
	return &Seal{aead, key[32:]}, err
}

// MinWord is the shortest word to seal with.
const MinWord = 6

// sealed is what a code holds.
type sealed struct {
	Machine  string   `json:"m"`
	Level    int      `json:"l"`
	Number   uint64   `json:"n,omitempty"`
	Budget   float64  `json:"b,omitempty"`
	Foretell bool     `json:"e,omitempty"`
	Faults   []string `json:"f"`
}

// Close makes the code of a drill. The same drill has the same code.
func (s *Seal) Close(d *Drill) (string, error) {
	text, err := json.Marshal(sealed{d.c.Name(), int(d.opt.Level), d.opt.Number, d.opt.Budget, d.opt.Foretell, d.Refs()})
	if err != nil {
		return "", err
	}
	for len(text)%padTo != 0 {
		text = append(text, ' ')
	}
	// A nonce made of the text (as in RFC 5297) is one for each text.
	h := hmac.New(sha256.New, s.mac)
	h.Write(text)
	nonce := h.Sum(nil)[:s.aead.NonceSize()]
	return base64.RawURLEncoding.EncodeToString(s.aead.Seal(nonce, nonce, text, nil)), nil
}

// ErrSealed is returned for a code that the word does not open.
var ErrSealed = errors.New("this code was not sealed with this word, or was changed")

// Open makes the drill of a code on a machine. White space in a code is as none.
func (s *Seal) Open(c *circuit.Circuit, code string) (*Drill, error) {
	raw, err := base64.RawURLEncoding.DecodeString(strings.Join(strings.Fields(code), ""))
	if err != nil || len(raw) < s.aead.NonceSize() {
		return nil, ErrSealed
	}
	n := s.aead.NonceSize()
	text, err := s.aead.Open(nil, raw[:n], raw[n:], nil)
	if err != nil {
		return nil, ErrSealed
	}
	var in sealed
	if err := json.Unmarshal(text, &in); err != nil {
		return nil, ErrSealed
	}
	if in.Machine != c.Name() {
		return nil, fmt.Errorf("the sealed drill is on the machine %q, and this is %q", in.Machine, c.Name())
	}
	var faults []circuit.Fault
	for _, ref := range in.Faults {
		f, err := c.ParseFault(ref)
		if err != nil {
			return nil, errors.New("the sealed drill hides what this machine has not got: it was changed since")
		}
		faults = append(faults, f...)
	}
	return With(c, Options{Level: Level(in.Level), Number: in.Number, Budget: in.Budget, Foretell: in.Foretell}, faults)
}
