package ax25

import "bytes"

// Compare orders calls as their bytes, for lists that must come out the same each time.
func (c Call) Compare(d Call) int { return bytes.Compare(c.b[:c.n], d.b[:d.n]) }
