package timedtext

import "errors"

func (p *docxPackage) readODT() error { return errors.New("not built yet") }
