module turnwise/peer

go 1.26.0

require (
	github.com/deadsy/sdfx v0.0.0-20230213225118-5bd480590742
	turnwise v0.0.0
)

require (
	github.com/ajstarks/svgo v0.0.0-20211024235047-1546f124cd8b // indirect
	github.com/golang/freetype v0.0.0-20170609003504-e2365dfdc4a0 // indirect
	github.com/hpinc/go3mf v0.24.1 // indirect
	github.com/llgcode/draw2d v0.0.0-20210904075650-80aa0a2a901d // indirect
	github.com/qmuntal/opc v0.7.10 // indirect
	github.com/yofu/dxf v0.0.0-20190710012328-5a6d1e83f16c // indirect
	golang.org/x/image v0.27.0 // indirect
)

replace turnwise => ../../..
