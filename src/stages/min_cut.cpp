// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/min_cut.hpp"

#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/boykov_kolmogorov_max_flow.hpp>

namespace cradlewright {
namespace {

using Traits = boost::adjacency_list_traits<boost::vecS, boost::vecS, boost::directedS>;
struct EdgeData {
    std::int64_t capacity = 0, residual = 0;
    Traits::edge_descriptor reverse;
};
struct NodeData {
    Traits::edge_descriptor predecessor;
    boost::default_color_type colour = boost::white_color;
    std::int64_t distance = 0;
};
using Graph = boost::adjacency_list<boost::vecS, boost::vecS, boost::directedS, NodeData, EdgeData>;

void add_pair(Graph& graph, std::size_t a, std::size_t b, std::int64_t forward, std::int64_t backward) {
    const auto there = boost::add_edge(a, b, graph).first;
    const auto back = boost::add_edge(b, a, graph).first;
    graph[there] = {forward, 0, back};
    graph[back] = {backward, 0, there};
}

}  // namespace

std::vector<std::uint8_t> MinCut::solve() const {
    const std::size_t n = to_one_.size();
    Graph graph(n + 2);
    const std::size_t source = n, sink = n + 1;
    for (std::size_t i = 0; i < n; ++i) {
        if (to_one_[i] > 0) add_pair(graph, source, i, to_one_[i], 0);
        if (to_two_[i] > 0) add_pair(graph, i, sink, to_two_[i], 0);
    }
    for (const Link& l : links_) add_pair(graph, l.a, l.b, l.cost, l.cost);

    boost::boykov_kolmogorov_max_flow(graph, boost::get(&EdgeData::capacity, graph),
                                      boost::get(&EdgeData::residual, graph), boost::get(&EdgeData::reverse, graph),
                                      boost::get(&NodeData::predecessor, graph), boost::get(&NodeData::colour, graph),
                                      boost::get(&NodeData::distance, graph), boost::get(boost::vertex_index, graph),
                                      source, sink);
    std::vector<std::uint8_t> side(n);
    for (std::size_t i = 0; i < n; ++i) side[i] = graph[i].colour == boost::black_color ? 1 : 2;
    return side;
}

}  // namespace cradlewright
