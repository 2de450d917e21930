package scene

// strewExtras lays what is neither kernel nor stover.
func (sc Scene) strewExtras(lay *layout, b *ground, cam *camera) []*piece { return nil }
