// As asio.cpp, of Boost.Beast.
#include <boost/beast/src.hpp>
