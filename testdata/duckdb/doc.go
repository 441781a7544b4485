// Package duckdb holds the checks of sill against DuckDB, an independent
// engine. It is a module of its own so that DuckDB is no dependency of sill.
package duckdb
