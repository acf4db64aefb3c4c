"""The mathematics of navigation: degrees and metres in, arrays out. It knows no HTTP, no JSON and no clock."""
