module github.com/goccy/go-graphviz

go 1.23.0

require github.com/tetratelabs/wazero v1.10.1
