package portion

import "thumbed/models/table/keys"

// Keys says what the keys of a File mean.
func (File) Keys() keys.List {
	return keys.List{
		"kind":      {About: "says that it is a part of divided work", Words: []string{fileKind}},
		"version":   {About: "version of this form of file"},
		"work":      {About: "what was divided"},
		"part":      {About: "number of this part, from 1"},
		"parts":     {About: "number of parts"},
		"processor": {About: "family of processors within which all digits are the same"},
		"pieces":    {About: "what each piece of the part came to, in their order"},
	}
}

// Keys says what the keys of a Work mean.
func (Work) Keys() keys.List {
	return keys.List{
		"verb":    {About: "verb of the command that does the work and puts it together"},
		"of":      {About: "SHA-256, in hexadecimal, of all that decides its numbers"},
		"source":  {About: "the file that says what to do, as it was given"},
		"program": {About: "name and version of the program"},
		"total":   {About: "number of pieces in all"},
	}
}
