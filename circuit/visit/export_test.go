package visit

// Kinds are the words of every kind of note there is.
func Kinds() (out []string) {
	for _, k := range kinds {
		out = append(out, k.word)
	}
	return out
}
