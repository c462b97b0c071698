//! Bytes in and out. Pure: requests are built here and sent elsewhere.
