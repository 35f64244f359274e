"""Tests of tables that become references."""
