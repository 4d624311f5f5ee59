// As asio.cpp, of its TLS streams; a file of its own, so that a program without them needs no
// OpenSSL.
#include <boost/asio/ssl/impl/src.hpp>
