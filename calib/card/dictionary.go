package card

// markerCells is the number of data cells along a marker's side; a black border one cell wide
// surrounds them, so a marker is markerCells+2 cells wide.
const markerCells = 5

// dictionary holds the data cells of OpenCV's DICT_5X5_100, row by row from the top left, the first
// cell in the highest of 25 bits; 1 is white. Extracted from OpenCV 4.6 by
// Dictionary::getBitsFromByteList; a test of package calib reads every one back with OpenCV's detector.
var dictionary = [100]uint32{
	0x145b2bc, 0x01c06e6, 0x1af0edd, 0x10395f7, 0x1aeb524, 0x1d4082d, 0x0d3d7ec, 0x0e2146b,
	0x10d6132, 0x1313fa5, 0x13cee03, 0x1a2dac0, 0x1e62b11, 0x05e7166, 0x1fcfca8, 0x051e37f,
	0x097a758, 0x0bea26f, 0x0f64dc4, 0x1061de8, 0x12dda75, 0x150e440, 0x16b0ca1, 0x0ba12de,
	0x19cd023, 0x1a59972, 0x1c3ce8b, 0x0224246, 0x03b9672, 0x024223b, 0x027376e, 0x0368873,
	0x040d0ce, 0x04aaac8, 0x04643ba, 0x07a6fea, 0x0998aac, 0x082d101, 0x09aad1d, 0x0863c72,
	0x0ad2825, 0x0a52f9e, 0x0d849f7, 0x0c309d9, 0x0da7e31, 0x0e9627a, 0x0e9b997, 0x0f94806,
	0x0f59125, 0x0f6b7d7, 0x11b58e4, 0x11ad279, 0x11e380b, 0x1169445, 0x12ffb4a, 0x158cb8d,
	0x15987f0, 0x1422fdf, 0x14e1227, 0x156df22, 0x173dbf1, 0x164c93c, 0x17cbb86, 0x1880a87,
	0x19147dd, 0x184eb8a, 0x18d85ad, 0x1b2cda9, 0x1babd73, 0x1e9d432, 0x1e76528, 0x0f5740a,
	0x1b11a53, 0x018ce65, 0x02ab219, 0x098e981, 0x0a8061c, 0x141a158, 0x185314c, 0x196d12c,
	0x1fad3a2, 0x00922b5, 0x019bce0, 0x00b547c, 0x002c76f, 0x0132289, 0x012d2a7, 0x00c4b43,
	0x0067bc5, 0x00faa0d, 0x01f1f54, 0x038e879, 0x0323b23, 0x02c3647, 0x02da51b, 0x02e9d8d,
	0x027c562, 0x03efdf5, 0x0521ee0, 0x0448efd,
}

// DictionarySize is the number of marker ids.
const DictionarySize = len(dictionary)

// markerCell reports whether the cell at row and column (0..6) of a marker, border included, is white.
func markerCell(id, row, col int) bool {
	row, col = row-1, col-1
	if row < 0 || col < 0 || row >= markerCells || col >= markerCells {
		return false
	}
	shift := markerCells*markerCells - 1 - (row*markerCells + col)
	return dictionary[id]>>shift&1 == 1
}
