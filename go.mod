module spotjig

go 1.26.0

require (
	codeberg.org/go-pdf/fpdf v0.12.0
	github.com/goccy/go-yaml v1.19.2
	github.com/peterstace/simplefeatures v0.50.0
	github.com/rogpeppe/go-internal v1.16.0
	github.com/santhosh-tekuri/jsonschema/v6 v6.0.3
	github.com/spf13/cobra v1.10.2
	github.com/spf13/pflag v1.1.0
	github.com/stretchr/testify v1.12.1
	github.com/yofu/dxf v0.0.0-20250806094206-f3988c7f0176
	go.uber.org/goleak v1.3.0
	golang.org/x/sys v0.50.0
	pgregory.net/rapid v1.3.0
)

require (
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	go.yaml.in/yaml/v3 v3.0.6 // indirect
	golang.org/x/text v0.44.0 // indirect
	golang.org/x/tools v0.52.0 // indirect
)
