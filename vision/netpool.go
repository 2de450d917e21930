package vision

import (
	"errors"

	"gocv.io/x/gocv"
)

// netPool holds loaded networks of one kind that nobody uses just now; one serves one photo at a time.
type netPool struct {
	onnx []byte
	idle chan *gocv.Net
}

func newNetPool(onnx []byte) *netPool { return &netPool{onnx, make(chan *gocv.Net, 8)} }

func (p *netPool) take() (*gocv.Net, error) {
	select {
	case n := <-p.idle:
		return n, nil
	default:
	}
	n, err := gocv.ReadNetFromONNXBytes(p.onnx)
	if err != nil {
		return nil, err
	}
	if n.Empty() {
		return nil, errors.New("vision: a built-in network cannot be read")
	}
	return &n, nil
}

func (p *netPool) giveBack(n *gocv.Net) {
	select {
	case p.idle <- n:
	default:
		n.Close()
	}
}

// forward shows the network its input and hands over the n numbers that it says, which are gone afterwards.
func forward(net *gocv.Net, in gocv.Mat, n int, read func(said []float32)) error {
	net.SetInput(in, "")
	out := net.Forward("")
	defer out.Close()
	said, err := out.DataPtrFloat32()
	if err != nil {
		return err
	}
	if len(said) != n {
		return errors.New("vision: a network says more or less than it was asked for")
	}
	read(said)
	return nil
}
