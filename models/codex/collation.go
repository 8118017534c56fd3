package codex

// Collation is the statement of the book's quires.
func (b *Book) Collation() string { return "" }
