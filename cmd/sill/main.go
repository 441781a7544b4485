package main

import (
	_ "github.com/apache/arrow/go/v17/arrow/ipc"
	_ "github.com/go-viper/mapstructure/v2"
	_ "github.com/google/go-cmp/cmp"
	_ "github.com/parquet-go/parquet-go"
	_ "github.com/rogpeppe/go-internal/testscript"
	_ "github.com/santhosh-tekuri/jsonschema/v6"
	_ "github.com/schollz/progressbar/v3"
	_ "github.com/spf13/cobra"
	_ "github.com/spf13/cobra/doc"
	_ "github.com/spf13/pflag"
	_ "github.com/spf13/viper"
	_ "go.yaml.in/yaml/v3"
	_ "golang.org/x/sync/errgroup"
	_ "golang.org/x/sys/unix"
	_ "golang.org/x/term"
	_ "golang.org/x/text/unicode/norm"
	_ "gonum.org/v1/gonum/mat"
	_ "gonum.org/v1/gonum/stat/distuv"
	_ "pgregory.net/rapid"
)

func main() {}
