package glb

// document is the JSON chunk: the properties of glTF 2.0 (chapter 5, "Properties Reference") that are used here.
type document struct {
	Asset       asset        `json:"asset"`
	Scene       int          `json:"scene"`
	Scenes      []sceneJSON  `json:"scenes"`
	Nodes       []nodeJSON   `json:"nodes"`
	Meshes      []meshJSON   `json:"meshes"`
	Materials   []matJSON    `json:"materials"`
	Animations  []animJSON   `json:"animations,omitempty"`
	Accessors   []accessor   `json:"accessors"`
	BufferViews []bufferView `json:"bufferViews"`
	Buffers     []bufferJSON `json:"buffers"`
}

type asset struct {
	Version   string `json:"version"`
	Generator string `json:"generator,omitempty"`
}

type sceneJSON struct {
	Name  string `json:"name,omitempty"`
	Nodes []int  `json:"nodes"`
}

type nodeJSON struct {
	Name        string         `json:"name,omitempty"`
	Mesh        *int           `json:"mesh,omitempty"`
	Children    []int          `json:"children,omitempty"`
	Translation *[3]float32    `json:"translation,omitempty"`
	Rotation    *[4]float32    `json:"rotation,omitempty"`
	Extras      map[string]any `json:"extras,omitempty"`
}

type meshJSON struct {
	Name       string      `json:"name,omitempty"`
	Primitives []primitive `json:"primitives"`
}

type primitive struct {
	Attributes attributes `json:"attributes"`
	Indices    int        `json:"indices"`
	Material   int        `json:"material"`
}

type attributes struct {
	Position int  `json:"POSITION"`
	Normal   *int `json:"NORMAL,omitempty"`
}

type matJSON struct {
	Name string `json:"name,omitempty"`
	PBR  pbr    `json:"pbrMetallicRoughness"`
}

type pbr struct {
	Colour    [4]float64 `json:"baseColorFactor"`
	Metallic  float64    `json:"metallicFactor"`
	Roughness float64    `json:"roughnessFactor"`
}

type animJSON struct {
	Name     string    `json:"name,omitempty"`
	Channels []channel `json:"channels"`
	Samplers []sampler `json:"samplers"`
}

type channel struct {
	Sampler int    `json:"sampler"`
	Target  target `json:"target"`
}

type target struct {
	Node int    `json:"node"`
	Path string `json:"path"`
}

type sampler struct {
	Input         int    `json:"input"`
	Interpolation string `json:"interpolation"`
	Output        int    `json:"output"`
}

type accessor struct {
	BufferView    int       `json:"bufferView"`
	ByteOffset    int       `json:"byteOffset,omitempty"`
	ComponentType int       `json:"componentType"`
	Count         int       `json:"count"`
	Type          string    `json:"type"`
	Min           []float64 `json:"min,omitempty"`
	Max           []float64 `json:"max,omitempty"`
}

type bufferView struct {
	Buffer     int `json:"buffer"`
	ByteOffset int `json:"byteOffset"`
	ByteLength int `json:"byteLength"`
	Target     int `json:"target,omitempty"`
}

type bufferJSON struct {
	ByteLength int `json:"byteLength"`
}
