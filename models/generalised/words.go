package generalised

import "strings"

// joined names the columns of groups.
func joined(by []string) string { return strings.Join(by, " and ") }
