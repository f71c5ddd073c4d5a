package complaints

// Way tells how what a statement is said of was found.
func (s Statement) Way() string { return s.way.String() }
